"""Tapes and rules: number them, take them out of use."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, TypedDict, Unpack

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc.length import Unit, show_exact
from inventory.models import Instrument
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from inventory.models import User

COARSEST_DIVISION_NM = 50_000_000
LARGEST_U_NM = 10_000_000


class InstrumentNumberTaken(Refused):
    """Two instruments cannot carry one number: a reading says by it which one took it."""


class InstrumentDatesCross(Refused):
    """An instrument cannot go out of use before it came into use."""


class DivisionImpossible(Refused):
    """The smallest division of a tape is more than nothing and less than a hand's breadth."""


class UncertaintyImpossible(Refused):
    """A tape's standard uncertainty is zero or more, and less than a tape can be off."""


class InstrumentValues(TypedDict, total=False):
    """What can be said of an instrument; see the model's fields."""

    number: str
    kind: str
    description: str
    division_nm: int
    in_use_since: dt.date | None
    accuracy_class: str
    zero_at_end: bool
    stated_u_nm: int | None
    check_every_days: int | None


@transaction.atomic
def add_instrument(*, by: User, at: dt.datetime, **values: Unpack[InstrumentValues]) -> Instrument:
    """Number a tape or rule. Raises `InstrumentNumberTaken`, `DivisionImpossible`, `ValidationError`."""
    require(by, Deed.SET_UP)
    instrument = Instrument(**values)
    instrument.full_clean(validate_unique=False)
    _check(instrument)
    instrument.save()
    leave_row(who=by, deed="add instrument", subject=instrument, at=at)
    return instrument


@transaction.atomic
def change_instrument(
    *, instrument: Instrument, by: User, at: dt.datetime, **values: Unpack[InstrumentValues]
) -> Instrument:
    """Correct what is noted of an instrument. Raises as `add_instrument`, and `InstrumentDatesCross`."""
    require(by, Deed.SET_UP)
    stored, changed = changed_row(instrument, dict(values))
    if changed:
        _check(stored)
        stored.save()
        leave_row(who=by, deed="change instrument", subject=stored, at=at, changed=changed)
    return stored


@transaction.atomic
def retire_instrument(*, instrument: Instrument, on: dt.date, by: User, at: dt.datetime) -> Instrument:
    """Take an instrument out of use from a day on; its readings stay. Raises `InstrumentDatesCross`."""
    require(by, Deed.SET_UP)
    stored, changed = changed_row(instrument, {"retired_on": on})
    _check(stored)
    stored.save()
    leave_row(who=by, deed="retire instrument", subject=stored, at=at, changed=changed)
    return stored


@transaction.atomic
def bring_back_instrument(*, instrument: Instrument, by: User, at: dt.datetime) -> Instrument:
    """Put a retired instrument back into use."""
    require(by, Deed.SET_UP)
    stored, changed = changed_row(instrument, {"retired_on": None})
    stored.save()
    leave_row(who=by, deed="bring back instrument", subject=stored, at=at, changed=changed)
    return stored


def _check(instrument: Instrument) -> None:
    other = Instrument.objects.filter(number__iexact=instrument.number).exclude(pk=instrument.pk).first()
    if other is not None:
        raise InstrumentNumberTaken(
            f"Number {instrument.number!r} is on {other} already. Write another number on this one.",
            field="number",
        )
    if not 0 < instrument.division_nm <= COARSEST_DIVISION_NM:
        shown = show_exact(instrument.division_nm, unit=Unit.MM)
        raise DivisionImpossible(
            f"The smallest division is {shown}. Type the distance of two marks, such as 1 mm or 1/16 in.",
            field="division_nm",
        )
    stated_nm = instrument.stated_u_nm
    if stated_nm is not None and not 0 <= stated_nm <= LARGEST_U_NM:
        raise UncertaintyImpossible(
            f"The standard uncertainty is {show_exact(stated_nm, unit=Unit.MM)}. Type one from 0 to "
            f"{show_exact(LARGEST_U_NM, unit=Unit.MM)}, such as 0.5 mm, or leave it empty.",
            field="stated_u_nm",
        )
    if instrument.check_every_days == 0:
        raise InstrumentDatesCross(
            "A check every 0 days is never over. Type 1 for every day, or leave it empty.",
            field="check_every_days",
        )
    since, until = instrument.in_use_since, instrument.retired_on
    if since is not None and until is not None and until < since:
        raise InstrumentDatesCross(
            f"{instrument} came into use on {since:%Y-%m-%d} and cannot retire on {until:%Y-%m-%d}. "
            "Give a later day, or correct the first.",
            field="on",
        )
