"""A reading as a browser sends it, perhaps much later: find its sitting, point and tape, then store it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef

from inventory.access import Deed, require
from inventory.models import Inspection, Instrument, UnreadSide
from inventory.models.inspections import PieceState
from inventory.models.kept_questions import KeptQuestion
from inventory.queries.bench.sheet import piece_numbered
from inventory.queries.plans import plans_of
from inventory.services.inspections.opening import open_inspection
from inventory.services.inspections.readings import store_reading
from inventory.services.inspections.refusals import PointNotInWalk, ReadByAnother, SittingIsOver
from inventory.services.inspections.stored_before import Recorded, Said, come_again

if TYPE_CHECKING:
    import datetime as dt
    import uuid
    from decimal import Decimal

    from django.db.models import QuerySet

    from inventory.calc import length
    from inventory.models import MeasurePoint, User
    from inventory.queries.bench.level_help import LevelAsked


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedReading:
    """What a browser sends: one figure with its own key, and all it needs to be stored much later.

    `unit` is the unit the screen showed, `sitting` the sitting it knew of, `signed_by` who was signed in,
    `seen` the newest reading it knew of (0: none), so that an old page stores no repeat nobody asked for;
    `level` what was typed into a helper for it.
    """

    number: int
    code: str
    side: str
    typed: str
    unit: length.Unit | None = None
    client_key: uuid.UUID | None = None
    taken_at: dt.datetime | None = None
    sitting: int | None = None
    seen: int | None = None
    signed_by: int | None = None
    instrument: int | None = None
    piece_state: str = PieceState.AS_RECEIVED
    corrects: int | None = None
    reason: str = ""
    room_temperature_c: Decimal | None = None
    room_humidity_percent: int | None = None
    note: str = ""
    level: LevelAsked | None = None

    @property
    def said(self) -> Said:
        """What of it tells it from another reading under the same key."""
        return Said(
            number=self.number,
            sitting=self.sitting,
            code=self.code,
            side=self.side,
            typed=self.typed,
            unit=self.unit,
            corrects=self.corrects,
        )


def take_reading(sent: TypedReading, *, by: User, at: dt.datetime) -> Recorded:
    """Store what the bench sent: into the piece's open sitting, or a new one.

    Raises `PieceNotFound`, `SizeNotInSpec`, `PointNotInWalk`, `ReadByAnother`, `ReadAlready`,
    `SittingIsOver`, and what `record_reading` raises; nothing is stored then.
    """
    require(by, Deed.MEASURE)
    if sent.signed_by not in (None, by.pk):
        raise ReadByAnother(
            f"The reading {sent.typed!r} of {sent.code} {sent.side} was read by somebody else, who has to be "
            "signed in to send it. It still waits in this browser."
        )
    try:
        with transaction.atomic():
            inspection = _sitting_for(sent, by=by, at=at)
            return store_reading(
                inspection=inspection,
                point=_point_of(sent, inspection),
                side=sent.side,
                typed=sent.typed,
                unit=sent.unit,
                by=by,
                at=at,
                taken_at=sent.taken_at,
                client_key=sent.client_key,
                instrument_id=_instrument_of(sent, inspection),
                corrects_id=sent.corrects,
                seen=sent.seen,
                reason=sent.reason,
                note=sent.note,
                level=sent.level,
            )
    except (IntegrityError, SittingIsOver) as refusal:
        return come_again(refusal, sent.client_key, sent.said)


def _sitting_for(sent: TypedReading, *, by: User, at: dt.datetime) -> Inspection:
    if sent.sitting is not None:
        known = next(iter(_the_sitting(sent.sitting, sent.number)), None)
        if known is None or known.finished_at is not None:
            raise SittingIsOver(
                f"The sitting of piece P{sent.number:06d} was finished meanwhile, so {sent.typed!r} for "
                f"{sent.code} {sent.side} was not stored. Open the piece again: store it in a new sitting, "
                "or let it go."
            )
        return known
    waiting = (
        _locked_sittings()
        .filter(piece__number=sent.number, finished_at=None, piece_state=sent.piece_state)
        .first()
    )
    if waiting is not None:
        return waiting
    return open_inspection(
        piece=piece_numbered(sent.number),
        by=by,
        at=at,
        unit=sent.unit.value if sent.unit else None,
        instrument=_instrument(sent.instrument),
        piece_state=sent.piece_state,
        room_temperature_c=sent.room_temperature_c,
        room_humidity_percent=sent.room_humidity_percent,
    )


def _locked_sittings() -> QuerySet[Inspection]:
    return (
        Inspection.objects.select_related("piece__batch__style")
        .select_for_update(of=("self",))
        .annotate(has_unread=Exists(UnreadSide.objects.filter(inspection=OuterRef("pk"))))
    )


# With `has_unread`, so that sides nobody can read cost a statement only where there are any.
_the_sitting = KeptQuestion(
    lambda pk, number: _locked_sittings().filter(pk=pk, piece__number=number), values=2
)


def _point_of(sent: TypedReading, inspection: Inspection) -> MeasurePoint:
    plans = plans_of(inspection.piece.batch)
    plan = plans.for_size(inspection.piece.size_label).get(sent.code)
    if plan is None or sent.side not in plan.sides:
        raise PointNotInWalk(
            f"Piece {inspection.piece.label} has no point {sent.code} {sent.side} to read. Load the page "
            "again; the style's points may have changed."
        )
    return plans.points[sent.code]


def _instrument_of(sent: TypedReading, inspection: Inspection) -> int | None:
    if sent.instrument in (None, inspection.instrument_id):
        return inspection.instrument_id
    found = _instrument(sent.instrument)
    return found.pk if found else None


def _instrument(number: int | None) -> Instrument | None:
    return None if number is None else Instrument.objects.filter(pk=number).first()
