"""Lay a tape beside the steel rule, write down what it reads at two lengths, keep what that says of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc import length, tape_class
from inventory.calc.tape_class import CheckedLength, TapeClass
from inventory.calc.tape_class.check import RULE_U_NM
from inventory.models import Instrument, TapeCheck, TapeCheckReading
from inventory.queries.tape_corrections import class_of
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from inventory.calc.tape_class import CheckFindings
    from inventory.models import User

METHOD: Final = "tape check/1"
USUAL_ALLOWED_NM: Final = 2_000_000
"""What a shop lets a tape without a class be off, unless it says otherwise; common practice, no source."""


class CannotCheckTape(Refused):
    """The check is not one: of what is no tape, out of use, or against itself."""


@dataclass(frozen=True, slots=True)
class TypedLength:
    """A length on the rule and what the tape read there, once or more, as typed."""

    rule: str
    readings: tuple[str, ...]


@transaction.atomic
def check_tape(
    *,
    instrument: Instrument,
    lengths: Sequence[TypedLength],
    unit: length.Unit,
    by: User,
    at: dt.datetime,
    against: Instrument | None = None,
    allowed_nm: int | None = None,
    note: str = "",
) -> TapeCheck:
    """Store a check of a tape at two lengths, and what it found; from now on its correction holds.

    `unit` is meant where none is typed. `allowed_nm` is how far a tape without a class may be off; what its
    class allows counts for one that has a class. Raises `CannotCheckTape`, `LengthNotUnderstood`, and
    `ImpossibleInput` for two lengths too near each other or an error no tape has; nothing is stored then.
    """
    require(by, Deed.MEASURE)
    _refuse(instrument, against, lengths)
    parsed = [_parsed(typed, unit) for typed in lengths]
    near, far = sorted((one for one, _ in parsed), key=lambda one: one.rule_nm)
    tape = class_of(instrument)
    if tape is not TapeClass.UNCLASSED:
        allowed_nm = None
    elif allowed_nm is None:
        allowed_nm = USUAL_ALLOWED_NM
    check = tape_class.TapeCheck(
        near, far, division_nm=instrument.division_nm, rule_u_nm=_rule_u_nm(against, far.rule_nm)
    )
    found = tape_class.evaluate(
        check, tape_class=tape, allowed_nm=allowed_nm, from_end=instrument.zero_at_end
    )
    stored = TapeCheck.objects.create(
        instrument=instrument,
        against=against,
        outcome=found.verdict.value,
        start_error_nm=round(found.start_nm),
        stretch_ppm=found.stretch * 1e6,
        correction_u_nm=math.ceil(found.correct(far.rule_nm).u_nm),
        document=_document(found, tape=tape, allowed_nm=allowed_nm, from_end=instrument.zero_at_end),
        note=note.strip(),
        checked_by=by,
        checked_at=at,
    )
    TapeCheckReading.objects.bulk_create(
        TapeCheckReading(
            check_made=stored,
            rule_length_nm=one.rule_nm,
            repeat=number,
            typed=reading.typed,
            unit=reading.parsed.unit.value,
            length_nm=reading.parsed.nm,
        )
        for one, readings in parsed
        for number, reading in enumerate(readings, start=1)
    )
    leave_row(who=by, deed="check tape", subject=instrument, at=at, outcome=stored.outcome, check=stored.pk)
    return stored


@dataclass(frozen=True, slots=True)
class _Read:
    typed: str
    parsed: length.Parsed


def _parsed(typed: TypedLength, unit: length.Unit) -> tuple[CheckedLength, list[_Read]]:
    rule_nm = length.parse(typed.rule, unit=unit).nm
    readings = [_Read(text.strip(), length.parse(text, unit=unit)) for text in typed.readings]
    return CheckedLength(rule_nm, tuple(reading.parsed.nm for reading in readings)), readings


def _refuse(instrument: Instrument, against: Instrument | None, lengths: Sequence[TypedLength]) -> None:
    if instrument.kind not in (Instrument.Kind.TAPE, Instrument.Kind.TYPING_TAPE):
        raise CannotCheckTape(
            f"{instrument} is no tape: it is what tapes are checked against. Choose a tape."
        )
    if instrument.retired_on is not None:
        raise CannotCheckTape(
            f"{instrument} is out of use since {instrument.retired_on}. Bring it back into use first."
        )
    if against is not None and against.kind != Instrument.Kind.RULE:
        raise CannotCheckTape(
            f"{against} is no steel rule, and a tape says nothing of a tape. Choose a steel rule.",
            field="against",
        )
    if len(lengths) != 2:
        raise CannotCheckTape(
            f"The check has {len(lengths)} lengths. Read the tape at two, such as 300 mm and 800 mm."
        )


def _rule_u_nm(against: Instrument | None, longest_nm: int) -> float:
    """Standard uncertainty of the rule: of its class, as stated, or that of a good steel rule."""
    if against is None:
        return RULE_U_NM
    rule = class_of(against)
    if rule is TapeClass.UNCLASSED and against.stated_u_nm is None:
        return RULE_U_NM
    return tape_class.tape_u_nm(
        rule, longest_nm, from_end=against.zero_at_end, stated_u_nm=against.stated_u_nm
    )


def _document(
    found: CheckFindings, *, tape: TapeClass, allowed_nm: int | None, from_end: bool
) -> dict[str, Any]:  # Any: JSON
    check = found.check
    return {
        "method": METHOD,
        "lengths": [
            {"rule_nm": one.rule_nm, "readings_nm": list(one.readings_nm)}
            for one in (check.shorter, check.longer)
        ],
        "division_nm": check.division_nm,
        "rule_u_nm": check.rule_u_nm,
        "class": tape.value,
        "allowed_nm": allowed_nm,
        "from_end": from_end,
        "errors_nm": list(found.errors_nm),
        "reasons": list(found.reasons),
    }
