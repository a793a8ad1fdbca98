"""One reading: as typed and as exact length, stored exactly once, never changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db import IntegrityError, transaction
from django.utils.timezone import localtime

from inventory.access import Deed, require
from inventory.calc import length
from inventory.models import Reading, Shop
from inventory.queries.bench.sheet import every_reading_of, in_effect
from inventory.queries.bench.walk import SIDE_WORDS
from inventory.queries.plans import plans_of
from inventory.services.audit import leave_row
from inventory.services.inspections.refusals import CannotCorrect, ReadAlready
from inventory.services.inspections.slip_guard import ask_about_slips, close_questions_of
from inventory.services.inspections.stored_before import Recorded, Said, come_again, stored_before

if TYPE_CHECKING:
    import datetime as dt
    import uuid

    from inventory.models import Inspection, Instrument, MeasurePoint, User
    from inventory.queries.bench.level_help import LevelAsked


def record_reading(
    *,
    inspection: Inspection,
    point: MeasurePoint,
    side: str,
    typed: str,
    by: User,
    at: dt.datetime,
    unit: length.Unit | None = None,
    taken_at: dt.datetime | None = None,
    client_key: uuid.UUID | None = None,
    instrument: Instrument | None = None,
    corrects: Reading | None = None,
    reason: str = "",
    note: str = "",
) -> Recorded:
    """Store one reading as typed and as exact length, ask about likely slips, never alter the figure.

    `unit` is meant where none is typed; the sitting's unless named. The same `client_key` again returns what
    was stored the first time. A correction names the reading it corrects and a reason.
    `inspection.piece.batch.style` should be loaded. Raises `LengthNotUnderstood`, `ClientKeyReused`,
    `CannotCorrect`; nothing is stored then.
    """
    require(by, Deed.MEASURE)
    try:
        with transaction.atomic():
            return store_reading(
                inspection=inspection,
                point=point,
                side=side,
                typed=typed,
                unit=unit,
                by=by,
                at=at,
                taken_at=taken_at,
                client_key=client_key,
                instrument_id=instrument.pk if instrument else inspection.instrument_id,
                corrects_id=corrects.pk if corrects else None,
                reason=reason,
                note=note,
            )
    except IntegrityError as refusal:
        said = _said(
            inspection=inspection,
            point=point,
            side=side,
            typed=typed,
            unit=unit,
            corrects_id=corrects.pk if corrects else None,
        )
        return come_again(refusal, client_key, said)


def store_reading(
    *,
    inspection: Inspection,
    point: MeasurePoint,
    side: str,
    typed: str,
    unit: length.Unit | None,
    by: User,
    at: dt.datetime,
    taken_at: dt.datetime | None,
    client_key: uuid.UUID | None,
    instrument_id: int | None,
    corrects_id: int | None,
    reason: str,
    note: str = "",
    seen: int | None = None,
    level: LevelAsked | None = None,
) -> Recorded:
    """One reading inside the caller's transaction: one SELECT and two INSERTs when nothing is unusual."""
    shop = Shop.objects.current()
    every = every_reading_of(inspection)
    others = in_effect(every, plans_of(inspection.piece.batch))
    before = next((r for r in every if r.client_key == client_key), None) if client_key else None
    if before is not None:
        before.inspection = inspection
        said = _said(
            inspection=inspection, point=point, side=side, typed=typed, unit=unit, corrects_id=corrects_id
        )
        return stored_before(before, said, readings=others, shop=shop)
    parsed = length.parse(typed, unit=unit or length.Unit(inspection.unit))
    corrected = _corrected(corrects_id, reason=reason, readings=others)
    same = [other for other in others if other.point_id == point.pk and other.side == side]
    if seen is not None and corrected is None:
        _refuse_unasked(same, typed=typed, point=point, side=side, by=by, seen=seen)
    reading = Reading.objects.create(
        inspection=inspection,
        point=point,
        side=side,
        repeat=corrected.repeat if corrected else max((other.repeat for other in same), default=0) + 1,
        typed=typed.strip(),
        unit=parsed.unit.value,
        length_nm=parsed.nm,
        instrument_id=instrument_id,
        taken_by=by,
        # A browser's clock may run ahead; a reading is never taken after it was stored.
        taken_at=min(taken_at, at) if taken_at else at,
        recorded_at=at,
        piece_state=inspection.piece_state,
        client_key=client_key,
        corrects=corrected,
        reason=reason.strip(),
        note=note.strip(),
        working=_worked_out(level, inspection, point, unit=unit, shop=shop),
    )
    deed = "correct reading" if corrected else "record reading"
    leave_row(who=by, deed=deed, subject=reading, at=at, piece=inspection.piece.label)
    if corrected:
        close_questions_of(corrected, by=by, at=at)
    left = tuple(other for other in others if other is not corrected)
    questions = ask_about_slips(reading, parsed, left, display=shop.as_display())
    return Recorded(reading, created=True, questions=questions, readings=(*left, reading), shop=shop)


def _worked_out(
    asked: LevelAsked | None,
    inspection: Inspection,
    point: MeasurePoint,
    *,
    unit: length.Unit | None,
    shop: Shop,
) -> dict[str, Any] | None:  # Any: JSON
    """The working that is kept with the reading, reckoned here from what was typed into the helper."""
    if asked is None:
        return None
    plan = plans_of(inspection.piece.batch).for_size(inspection.piece.size_label)[point.code]
    found = asked.work_out(plan, unit=unit or length.Unit(inspection.unit), display=shop.as_display())
    return found.as_document()


def _said(
    *,
    inspection: Inspection,
    point: MeasurePoint,
    side: str,
    typed: str,
    unit: length.Unit | None,
    corrects_id: int | None,
) -> Said:
    return Said(
        number=inspection.piece.number,
        sitting=inspection.pk,
        code=point.code,
        side=side,
        typed=typed,
        unit=unit,
        corrects=corrects_id,
    )


def _refuse_unasked(
    same: list[Reading], *, typed: str, point: MeasurePoint, side: str, by: User, seen: int
) -> None:
    """Refuse a repeat from a page that does not know that this person has read the side already.

    What somebody else read meanwhile is no reason: two people's readings are both kept.
    """
    unknown = [other for other in same if other.taken_by_id == by.pk and other.pk > seen]
    if unknown:
        where = point.name if side == "S" else f"{point.name}, {SIDE_WORDS[side]}"
        time = f"{localtime(unknown[-1].taken_at):%H:%M}"
        raise ReadAlready(
            f"{where.capitalize()} is read already: you read it at {time}, and the page was an old "
            f"one. {typed.strip()!r} was not stored. Go on with what is asked now; to change a reading look "
            "back at the readings."
        )


def _corrected(corrects_id: int | None, *, reason: str, readings: tuple[Reading, ...]) -> Reading | None:
    if corrects_id is None:
        return None
    if not reason.strip():
        raise CannotCorrect(
            "A correction needs a reason, such as 'read at the wrong height'. Nothing was stored.",
            field="reason",
        )
    for reading in readings:
        if reading.pk == corrects_id:
            return reading
    raise CannotCorrect(
        "That reading was corrected already, or belongs to another sitting. Load the page again and "
        "correct the newest one."
    )
