"""Close a sitting and judge the piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, may, require
from inventory.models import Inspection, PieceVerdict, SlipQuestion, UnreadSide
from inventory.services.audit import leave_row
from inventory.services.inspections.refusals import OwnerMustAllow
from inventory.services.judging import NotYetMeasured, judge_inspection, still_to_read

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


@transaction.atomic
def finish_inspection(*, inspection: Inspection, by: User, at: dt.datetime) -> PieceVerdict:
    """Close the sitting and judge the piece; of one that somebody has finished meanwhile, the verdict it got.

    The sitting is held, so no reading comes between judging and closing. Raises `NotYetMeasured` when
    something is still open, and `OwnerMustAllow` when a half was noted as impossible to read and `by` may not
    decide that twice the other half will do.
    """
    require(by, Deed.MEASURE)
    held = Inspection.objects.select_for_update(of=("self",)).only("finished_at").get(pk=inspection.pk)
    given = _verdict_given(held) if held.finished_at is not None else None
    if given is not None:
        return given
    _refuse_open_questions(inspection)
    if not may(by, Deed.DECIDE):
        _refuse_unread_halves(inspection)
    verdict = judge_inspection(inspection=inspection, by=by, at=at)
    if held.finished_at is None:
        inspection.finished_at = at
        inspection.save(update_fields=["finished_at"])
        leave_row(who=by, deed="finish inspection", subject=inspection, at=at, piece=inspection.piece.label)
    return verdict


def _verdict_given(finished: Inspection) -> PieceVerdict | None:
    """The last verdict by this sitting; None when it was closed without one."""
    return PieceVerdict.objects.filter(inspection=finished).order_by("-pk").first()


def _refuse_open_questions(inspection: Inspection) -> None:
    asked = SlipQuestion.objects.filter(
        reading__inspection=inspection, reading__corrections=None, answer=SlipQuestion.Answer.OPEN
    ).select_related("reading__point")
    doubted = list(dict.fromkeys(f"{a.reading.point.code} {a.reading.side} {a.reading.typed}" for a in asked))
    if not doubted:
        return
    words = "a reading that looks like a slip" if len(doubted) == 1 else "readings that look like slips"
    missing = still_to_read(inspection)
    besides = f" Still to read: {', '.join(missing)}." if missing else ""
    raise NotYetMeasured(
        f"Piece {inspection.piece.label} has {words}: {', '.join(doubted)}. Keep what was read or read it "
        f"again first.{besides}"
    )


def _refuse_unread_halves(inspection: Inspection) -> None:
    noted = UnreadSide.objects.filter(inspection=inspection).select_related("point")
    read = set(inspection.readings.in_effect().values_list("point_id", "side")) if noted else set()
    left_out = [f"{one.point.code} {one.side}" for one in noted if (one.point_id, one.side) not in read]
    if left_out:
        raise OwnerMustAllow(
            f"On piece {inspection.piece.label} the owner has to allow twice one half, as "
            f"{', '.join(left_out)} could not be read. The sitting stays open; the owner finishes it from "
            "the bench."
        )
