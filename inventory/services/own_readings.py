"""Readings of our own measuring: as typed and as exact length, stored exactly once, never changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import IntegrityError, transaction

from inventory.access import Deed, require
from inventory.calc import length
from inventory.models import CheckReading, CheckSitting, StudyReading, StudyTurn
from inventory.queries.own.places import OwnPlace, OwnReading
from inventory.services.audit import leave_row
from inventory.services.inspections.refusals import (
    CannotCorrect,
    ClientKeyReused,
    PointNotInWalk,
    ReadAlready,
    ReadByAnother,
    SittingIsOver,
)

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User
    from inventory.services.inspections import TypedReading


@dataclass(frozen=True, slots=True)
class OwnRecorded:
    """A stored reading; `created` is false when the same key had been stored before."""

    reading: OwnReading
    created: bool


def take_own_reading(place: OwnPlace, message: TypedReading, *, by: User, at: dt.datetime) -> OwnRecorded:
    """Store one reading of a turn or a sitting; the same key again gives what was stored the first time.

    Raises `LengthNotUnderstood`, `PointNotInWalk`, `ReadByAnother`, `SittingIsOver`, `ReadAlready`,
    `CannotCorrect`, `ClientKeyReused`; nothing is stored then.
    """
    require(by, Deed.MEASURE)
    model = StudyReading if isinstance(place.record, StudyTurn) else CheckReading
    _refuse_strangers(place, message, by=by)
    before = _stored_before(model, place, message)
    if before is not None:
        return OwnRecorded(before, created=False)
    if place.over:
        raise SittingIsOver(f"{place.over} {message.typed!r} was not stored.")
    step = place.step(f"{message.code}-{message.side}")
    if step is None:
        raise PointNotInWalk(
            f"{message.code} {message.side} is not read here. Load the page again and read what it asks for."
        )
    corrected = _corrected(place, message, step.key)
    parsed = length.parse(message.typed, unit=message.unit or length.Unit(place.unit))
    try:
        with transaction.atomic():
            reading = model(
                point=step.point,
                side=step.side,
                typed=message.typed.strip(),
                unit=parsed.unit.value,
                length_nm=parsed.nm,
                instrument_id=message.instrument or place.instrument_id,
                taken_by=by,
                taken_at=min(message.taken_at, at) if message.taken_at else at,
                recorded_at=at,
                client_key=message.client_key,
                corrects_id=corrected.pk if corrected else None,
                reason=message.reason.strip(),
            )
            _put(reading, place)
            reading.save(force_insert=True)
            deed = "correct own reading" if corrected else "record own reading"
            leave_row(who=by, deed=deed, subject=reading, at=at, place=place.tag)
    except IntegrityError as refusal:
        before = _stored_before(model, place, message)
        if before is not None:
            return OwnRecorded(before, created=False)
        raise ReadAlready(
            f"{step.words.capitalize()} is read already. Load the page again and go on with what it asks for."
        ) from refusal
    return OwnRecorded(reading, created=True)


def _put(reading: OwnReading, place: OwnPlace) -> None:
    if isinstance(reading, StudyReading):
        assert isinstance(place.record, StudyTurn)
        reading.turn = place.record
    else:
        assert isinstance(place.record, CheckSitting)
        reading.sitting = place.record


def _refuse_strangers(place: OwnPlace, message: TypedReading, *, by: User) -> None:
    if message.signed_by is not None and message.signed_by != by.pk:
        raise ReadByAnother(
            f"{message.typed!r} was typed while somebody else was signed in. They must sign in to send it."
        )
    mine = (
        place.record.study_person.person_id
        if isinstance(place.record, StudyTurn)
        else place.record.opened_by_id
    )
    if mine != by.pk:
        raise ReadByAnother(
            f"{place.what.capitalize()} is another person's. Open your own: whose hands read it counts."
        )


def _stored_before(
    model: type[StudyReading] | type[CheckReading], place: OwnPlace, message: TypedReading
) -> OwnReading | None:
    if message.client_key is None:
        return None
    before: OwnReading | None = (
        model.objects.select_related("point", "taken_by").filter(client_key=message.client_key).first()
    )
    if before is None:
        return None
    at = before.turn_id if isinstance(before, StudyReading) else before.sitting_id
    said = (message.code, message.side, message.typed.strip(), place.record.pk)
    if (before.point.code, before.side, before.typed, at) != said:
        raise ClientKeyReused(
            f"Key {message.client_key} already stands for the reading {before.typed!r} of "
            f"{before.point.code} {before.side}. Send a new reading with a key of its own."
        )
    return before


def _corrected(place: OwnPlace, message: TypedReading, key: str) -> OwnReading | None:
    stands = place.taken.get(key)
    if message.corrects is None:
        if stands is not None:
            raise ReadAlready(
                f"{message.code} {message.side} is read already, and {message.typed!r} was not stored. Go on "
                "with what is asked now; to change a reading look back at the readings."
            )
        return None
    if not message.reason.strip():
        raise CannotCorrect(
            "A correction needs a reason, such as 'typed wrong'. Nothing was stored.", field="reason"
        )
    if stands is None or stands.pk != message.corrects:
        raise CannotCorrect(
            "That reading was corrected already, or belongs elsewhere. Load the page again and correct the "
            "newest one."
        )
    return stands
