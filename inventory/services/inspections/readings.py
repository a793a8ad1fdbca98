"""One reading: as typed and as exact length, stored exactly once, never changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef

from inventory.access import Deed, require
from inventory.calc import length
from inventory.models import Inspection, Instrument, Reading, Shop, UnreadSide
from inventory.models.inspections import PieceState
from inventory.queries.bench.sheet import in_effect, piece_numbered
from inventory.queries.plans import plans_of
from inventory.services.audit import leave_row
from inventory.services.inspections.opening import open_inspection
from inventory.services.inspections.refusals import (
    CannotCorrect,
    ClientKeyReused,
    PointNotInWalk,
    ReadByAnother,
    SittingIsOver,
)
from inventory.services.inspections.slip_guard import ask_about_slips, close_questions_of

if TYPE_CHECKING:
    import datetime as dt
    import uuid
    from decimal import Decimal

    from inventory.models import MeasurePoint, SlipQuestion, User


@dataclass(frozen=True, slots=True)
class Recorded:
    """A stored reading; `created` is false when the same key had been stored before.

    `readings` are all readings in effect of the sitting, this one among them.
    """

    reading: Reading
    created: bool
    questions: tuple[SlipQuestion, ...]
    readings: tuple[Reading, ...]
    shop: Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedReading:
    """What a browser sends: one figure with its own key, and all it needs to be stored much later.

    `unit` is the unit the screen showed, `sitting` the sitting it knew of, `signed_by` who was signed in.
    """

    number: int
    code: str
    side: str
    typed: str
    unit: length.Unit | None = None
    client_key: uuid.UUID | None = None
    taken_at: dt.datetime | None = None
    sitting: int | None = None
    signed_by: int | None = None
    instrument: int | None = None
    piece_state: str = PieceState.AS_RECEIVED
    corrects: int | None = None
    reason: str = ""
    room_temperature_c: Decimal | None = None
    room_humidity_percent: int | None = None


def take_reading(sent: TypedReading, *, by: User, at: dt.datetime) -> Recorded:
    """Store what the bench sent: into the piece's open sitting, or a new one.

    Raises `PieceNotFound`, `SizeNotInSpec`, `PointNotInWalk`, `ReadByAnother`, `SittingIsOver`, and what
    `record_reading` raises; nothing is stored then.
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
            return _record(
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
                reason=sent.reason,
            )
    except (IntegrityError, SittingIsOver) as refusal:
        return _come_again(refusal, sent.client_key, code=sent.code, side=sent.side, typed=sent.typed)


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
            return _record(
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
        return _come_again(refusal, client_key, code=point.code, side=side, typed=typed)


def _record(
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
) -> Recorded:
    """One reading inside the caller's transaction: one SELECT and two INSERTs when nothing is unusual."""
    shop = Shop.objects.current()
    every = list(inspection.readings.all())
    others = in_effect(every, plans_of(inspection.piece.batch))
    before = next((r for r in every if r.client_key == client_key), None) if client_key else None
    if before is not None:
        return _stored_before(before, code=point.code, side=side, typed=typed, readings=others, shop=shop)
    parsed = length.parse(typed, unit=unit or length.Unit(inspection.unit))
    corrected = _corrected(corrects_id, reason=reason, readings=others)
    same = [other.repeat for other in others if other.point_id == point.pk and other.side == side]
    reading = Reading.objects.create(
        inspection=inspection,
        point=point,
        side=side,
        repeat=corrected.repeat if corrected else max(same, default=0) + 1,
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
    )
    deed = "correct reading" if corrected else "record reading"
    leave_row(who=by, deed=deed, subject=reading, at=at, piece=inspection.piece.label)
    if corrected:
        close_questions_of(corrected, by=by, at=at)
    left = tuple(other for other in others if other is not corrected)
    questions = ask_about_slips(reading, parsed, left, display=shop.as_display())
    return Recorded(reading, created=True, questions=questions, readings=(*left, reading), shop=shop)


def _sitting_for(sent: TypedReading, *, by: User, at: dt.datetime) -> Inspection:
    sittings = (
        Inspection.objects.filter(piece__number=sent.number)
        .select_related("piece__batch__style", "piece__batch__spec")
        .select_for_update(of=("self",))
        .annotate(has_unread=Exists(UnreadSide.objects.filter(inspection=OuterRef("pk"))))
    )
    if sent.sitting is not None:
        known = sittings.filter(pk=sent.sitting).first()
        if known is None or known.finished_at is not None:
            raise SittingIsOver(
                f"The sitting of piece P{sent.number:06d} was finished meanwhile, so {sent.typed!r} for "
                f"{sent.code} {sent.side} was not stored. Open the piece again: store it in a new sitting, "
                "or let it go."
            )
        return known
    waiting = sittings.filter(finished_at=None, piece_state=sent.piece_state).first()
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


def _come_again(refusal: Exception, key: uuid.UUID | None, *, code: str, side: str, typed: str) -> Recorded:
    """What was stored under the key before, when that is why the database or the sitting refused."""
    before = Reading.objects.select_related("point").filter(client_key=key).first() if key else None
    if before is not None:
        plans = plans_of(before.inspection.piece.batch)
        return _stored_before(
            before,
            code=code,
            side=side,
            typed=typed,
            readings=in_effect(before.inspection.readings.all(), plans),
            shop=Shop.objects.current(),
        )
    if isinstance(refusal, IntegrityError) and "correct" in str(refusal):
        raise CannotCorrect(
            "Somebody corrected that reading a moment ago. Load the page again and look at the newest one."
        ) from refusal
    raise refusal


def _stored_before(
    before: Reading, *, code: str, side: str, typed: str, readings: tuple[Reading, ...], shop: Shop
) -> Recorded:
    if (before.point.code, before.side, before.typed) != (code, side, typed.strip()):
        raise ClientKeyReused(
            f"Key {before.client_key} already stands for the reading {before.typed!r} of {before.point.code} "
            f"{before.side}. Send a new reading with a key of its own."
        )
    questions = tuple(before.slip_questions.filter(answer=""))
    return Recorded(before, created=False, questions=questions, readings=readings, shop=shop)
