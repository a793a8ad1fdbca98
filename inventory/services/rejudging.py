"""Judge again what a tape read before it was found wrong: new verdicts beside the old, and what changed."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from django.db import transaction
from django.utils import timezone

from inventory.access import Deed, require
from inventory.models import Instrument, PieceVerdict, Shop
from inventory.queries.own.doubts import pieces_of_tape
from inventory.services.audit import leave_row
from inventory.services.jobs import JobRefused, hold_job, report_progress, request_job
from inventory.services.judging import NotYetMeasured, judge_inspection
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from inventory.models import Job, User

REJUDGE: Final = "judge-again"
AT_ONCE: Final = 25
MOST_TOLD: Final = 500

Json = dict[str, Any]  # Any: what JSON can hold


class NothingToJudgeAgain(Refused):
    """No verdict rests on a reading of this tape that its checks put in doubt."""


@transaction.atomic
def request_rejudging(*, instrument: Instrument, by: User) -> Job:
    """Ask for every piece to be judged again that the tape read before it was found wrong.

    The error is then taken to lie anywhere between the last good check's and the one found. Old verdicts
    stay. Raises `NothingToJudgeAgain`.
    """
    require(by, Deed.DECIDE)
    count = pieces_of_tape(instrument, shop=Shop.objects.current()).count()
    if not count:
        raise NothingToJudgeAgain(
            f"No piece waits to be judged again because of {instrument}: none was read while it may have "
            "been wrong, or all were judged again since."
        )
    job = request_job(REJUDGE, {"instrument": instrument.pk}, by=by, dedupe_key=f"{REJUDGE}-{instrument.pk}")
    at = timezone.now()
    leave_row(who=by, deed="ask to judge again", subject=instrument, at=at, pieces=count)
    return job


def carry_out_rejudging(job: Job) -> Json:
    """Judge them again, some at a time, each group in one transaction; safe to run again.

    A piece that was given another size since it was measured, or that its spec now asks more of, is left.
    """
    instrument = Instrument.objects.filter(pk=job.arguments.get("instrument")).first()
    by = job.created_by
    if instrument is None or by is None:
        raise JobRefused("The tape or the person this work belongs to is gone. Ask for it again.")
    keys = list(
        pieces_of_tape(instrument, shop=Shop.objects.current()).order_by("pk").values_list("pk", flat=True)
    )
    changed: list[Json] = []
    left: list[str] = []
    waiting, done = iter(keys), 0
    while chunk := list(islice(waiting, AT_ONCE)):
        with transaction.atomic():
            hold_job(job)
            for verdict in _current_verdicts(chunk):
                _judge_one(verdict, by=by, changed=changed, left=left)
        done += len(chunk)
        report_progress(job, done, len(keys), f"judging {done} of {len(keys)} pieces again")
    return {
        "instrument": instrument.pk,
        "pieces": len(keys) - len(left),
        "changed_count": len(changed),
        "changed": changed[:MOST_TOLD],
        "left": left[:MOST_TOLD],
    }


def _current_verdicts(pieces: list[int]) -> list[PieceVerdict]:
    return list(
        PieceVerdict.objects.filter(piece__in=pieces, is_current=True)
        .select_related("basis", "inspection", "piece__batch__style", "piece__batch__spec")
        .order_by("piece__number")
    )


def _judge_one(before: PieceVerdict, *, by: User, changed: list[Json], left: list[str]) -> None:
    piece = before.piece
    if before.basis.size_label != piece.size_label:
        left.append(piece.label)
        return
    before.inspection.piece = piece
    try:
        now = judge_inspection(inspection=before.inspection, by=by, at=timezone.now())
    except NotYetMeasured:
        left.append(piece.label)
        return
    if (now.shelf, now.claim) != (before.shelf, before.claim):
        changed.append(
            {
                "number": piece.number,
                "piece": piece.label,
                "shelf": [before.shelf, now.shelf],
                "claim": [before.claim, now.claim],
            }
        )
