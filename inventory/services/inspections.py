"""At the bench: open a sitting, record readings, correct them, answer the slip guard, finish."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc import length
from inventory.models import Inspection, Reading, Shop, SlipQuestion
from inventory.models.inspections import PieceState, Source
from inventory.queries.plans import plans_of
from inventory.services.audit import leave_row
from inventory.services.judging import NotYetMeasured, judge_inspection

if TYPE_CHECKING:
    import datetime as dt
    import uuid

    from inventory.calc.plan import Side
    from inventory.models import Instrument, MeasurePoint, Piece, PieceVerdict, User


class ClientKeyReused(Exception):
    """The sender's key came a second time with another reading behind it."""


class CannotCorrect(Exception):
    """A correction lacks its reason, or names a reading that is not there to be corrected."""


class NothingToAnswer(Exception):
    """The slip question was answered already."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """A stored reading; `created` is false when the same key had been stored before."""

    reading: Reading
    created: bool
    questions: tuple[SlipQuestion, ...]


@transaction.atomic
def open_inspection(
    *,
    piece: Piece,
    by: User,
    at: dt.datetime,
    unit: str | None = None,
    instrument: Instrument | None = None,
    piece_state: str = PieceState.AS_RECEIVED,
    source: str = Source.BENCH,
    blind: bool | None = None,
) -> Inspection:
    """The piece's open sitting, or a new one; two people on one piece share the sitting.

    The unit is that of the spec unless another is named.
    """
    require(by, Deed.MEASURE)
    waiting = piece.inspections.filter(finished_at=None, piece_state=piece_state).first()
    if waiting is not None:
        return waiting
    inspection = Inspection.objects.create(
        piece=piece,
        piece_state=piece_state,
        source=source,
        unit=unit or piece.batch.spec.unit_of_record,
        instrument=instrument,
        opened_by=by,
        opened_at=at,
        blind=Shop.objects.current().blind_entry if blind is None else blind,
    )
    leave_row(who=by, deed="open inspection", subject=inspection, at=at, piece=piece.label)
    return inspection


@transaction.atomic
def record_reading(
    *,
    inspection: Inspection,
    point: MeasurePoint,
    side: Side,
    typed: str,
    by: User,
    at: dt.datetime,
    taken_at: dt.datetime | None = None,
    client_key: uuid.UUID | None = None,
    instrument: Instrument | None = None,
    corrects: Reading | None = None,
    reason: str = "",
    note: str = "",
) -> Recorded:
    """Store one reading as typed and as exact length, ask about likely slips, never alter the figure.

    The same `client_key` again returns what was stored the first time. A correction names the reading it
    corrects and a reason. `inspection.piece.batch.style` should be loaded. Raises `LengthNotUnderstood`,
    `ClientKeyReused`, `CannotCorrect`; nothing is stored then.
    """
    require(by, Deed.MEASURE)
    if client_key is not None:
        before = _stored_under(client_key, inspection=inspection, point=point, side=side, typed=typed)
        if before is not None:
            return before
    parsed = length.parse(typed, unit=length.Unit(inspection.unit))
    others = list(inspection.readings.in_effect().select_related("point"))
    _check_correction(corrects, reason=reason, others=others)
    same = [other for other in others if other.point_id == point.pk and other.side == side]
    reading = Reading.objects.create(
        inspection=inspection,
        point=point,
        side=side,
        repeat=corrects.repeat if corrects else max((other.repeat for other in same), default=0) + 1,
        typed=typed.strip(),
        unit=parsed.unit.value,
        length_nm=parsed.nm,
        instrument=instrument or inspection.instrument,
        taken_by=by,
        taken_at=taken_at or at,
        recorded_at=at,
        piece_state=inspection.piece_state,
        client_key=client_key,
        corrects=corrects,
        reason=reason.strip(),
        note=note.strip(),
    )
    leave_row(
        who=by,
        deed="correct reading" if corrects else "record reading",
        subject=reading,
        at=at,
        piece=inspection.piece.label,
    )
    return Recorded(reading, created=True, questions=_ask_about_slips(reading, parsed, others))


@transaction.atomic
def answer_slip_question(*, question: SlipQuestion, answer: str, by: User, at: dt.datetime) -> SlipQuestion:
    """Keep the figure as read, or say that it will be read again. Raises `NothingToAnswer`."""
    require(by, Deed.MEASURE)
    changed = SlipQuestion.objects.filter(pk=question.pk, answer="").update(
        answer=SlipQuestion.Answer(answer), answered_by=by, answered_at=at
    )
    if not changed:
        raise NothingToAnswer("This question was answered already; look at the reading below it.")
    question.refresh_from_db()
    leave_row(who=by, deed="answer slip question", subject=question, at=at, answer=answer)
    return question


@transaction.atomic
def finish_inspection(*, inspection: Inspection, by: User, at: dt.datetime) -> PieceVerdict:
    """Close the sitting and judge the piece. Raises `NotYetMeasured` when something is still open."""
    require(by, Deed.MEASURE)
    if SlipQuestion.objects.filter(
        reading__inspection=inspection, reading__corrections=None, answer=""
    ).exists():
        raise NotYetMeasured(
            f"Piece {inspection.piece.label} has a reading that looks like a slip. Keep it or read it again first."
        )
    verdict = judge_inspection(inspection=inspection, by=by, at=at)
    if inspection.finished_at is None:
        inspection.finished_at = at
        inspection.save(update_fields=["finished_at"])
        leave_row(who=by, deed="finish inspection", subject=inspection, at=at, piece=inspection.piece.label)
    return verdict


def _stored_under(
    key: uuid.UUID, *, inspection: Inspection, point: MeasurePoint, side: str, typed: str
) -> Recorded | None:
    reading = Reading.objects.select_related("point").filter(client_key=key).first()
    if reading is None:
        return None
    there = (reading.inspection_id, reading.point_id, reading.side, reading.typed)
    if there != (inspection.pk, point.pk, side, typed.strip()):
        raise ClientKeyReused(
            f"Key {key} already stands for the reading {reading.typed!r} of {reading.point.code} {reading.side}. "
            "Send a new reading with a key of its own."
        )
    return Recorded(reading, created=False, questions=tuple(reading.slip_questions.all()))


def _check_correction(corrects: Reading | None, *, reason: str, others: list[Reading]) -> None:
    if corrects is None:
        return
    if not reason.strip():
        raise CannotCorrect(
            "A correction needs a reason, such as 'read at the wrong height'. Nothing was stored."
        )
    if corrects.pk not in {other.pk for other in others}:
        raise CannotCorrect(
            f"The reading {corrects.typed!r} was corrected already or belongs to another sitting. "
            "Load the page again and correct the newest one."
        )


def _ask_about_slips(
    reading: Reading, parsed: length.Parsed, others: list[Reading]
) -> tuple[SlipQuestion, ...]:
    piece = reading.inspection.piece
    spec_plans = plans_of(piece.batch)
    found = slips.questions_for(
        reading=parsed,
        code=reading.point.code,
        side=reading.side,
        size_label=piece.size_label,
        plans_by_size=spec_plans.by_size,
        taken={(other.point.code, other.side): other.length_nm for other in others},
    )
    return tuple(
        SlipQuestion.objects.create(
            reading=reading,
            kind=slip.kind.value,
            question=slip.question[:300],
            suggestion_nm=slip.suggestion_nm,
        )
        for slip in found[:1]
    )
