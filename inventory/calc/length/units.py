"""Units of length, their exact factors, exact millimetres, and rounding to a step.

The factors come from pint, the only place that asks it anything. It is imported on first use (it takes
most of a second) and asked for fractions: with floats it answers 25399999.999999996 for an inch.
"""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Final

from inventory.calc.errors import ImpossibleInput

NM_PER_MM: Final = 1_000_000
MAX_NM: Final = 10_000 * NM_PER_MM
"""No garment point is longer than 10 m; a longer figure is a slip of the decimal point or the unit."""

DENOMINATORS: Final = (2, 4, 8, 16, 32, 64)
"""The divisions of an inch found on tapes and rules."""

_MAX_MM: Final = MAX_NM // NM_PER_MM


class Unit(StrEnum):
    """The units a length is typed and shown in; feet are read, but only as twelve inches."""

    MM = "mm"
    CM = "cm"
    INCH = "in"

    # The plain "mm" of a database row finds the same dictionary entry, and hashing stays in C.
    __hash__ = str.__hash__


class Rounding(StrEnum):
    """What happens to a value exactly half way between two steps."""

    HALF_EVEN = "half_even"
    """To the even multiple: ISO 80000-1 rule A, the usual one here."""
    HALF_AWAY = "half_away"
    """To the larger magnitude: ISO 80000-1 rule B."""


_PINT_NAMES: Final = {Unit.MM: "millimeter", Unit.CM: "centimeter", Unit.INCH: "inch"}


@cache
def nm_per_unit() -> Mapping[Unit, int]:
    """Whole nanometres in one of each unit, from pint's unit table.

    >>> nm_per_unit()[Unit.INCH]
    25400000
    """
    import pint  # noqa: PLC0415  # slow to import, and most programs that import us parse nothing

    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
    factors: dict[Unit, int] = {}
    for unit, name in _PINT_NAMES.items():
        factor = Fraction(registry.convert(Fraction(1), name, "nanometer"))
        if factor.denominator != 1:
            raise ArithmeticError(f"one {name} is {factor} nm, which is not a whole number")
        factors[unit] = factor.numerator
    return MappingProxyType(factors)


def to_mm(nm: int) -> Decimal:
    """The exact millimetres of a length in nanometres, without trailing zeros.

    >>> to_mm(342_900_000), to_mm(340_000_000)
    (Decimal('342.9'), Decimal('340'))
    """
    mm = Decimal(int(nm)).scaleb(-6).normalize()
    return mm.quantize(Decimal(1)) if mm == mm.to_integral_value() else mm


def from_mm(mm: Decimal | int | str) -> int:
    """Nanometres of an exact number of millimetres, negative allowed; no float, no rounding.

    Raises ImpossibleInput when it is no number, longer than 10 m, or finer than a nanometre.

    >>> from_mm("342.9")
    342900000
    """
    if isinstance(mm, (float, bool)):
        raise ImpossibleInput("length in mm", repr(mm), "Give it as text or Decimal, so it stays exact")
    try:
        exact = Decimal(mm)
    except (InvalidOperation, ValueError, TypeError) as error:
        raise ImpossibleInput("length in mm", repr(mm), "Give a decimal number such as 342.9") from error
    if not exact.is_finite() or not -_MAX_MM <= exact <= _MAX_MM:  # abs() would round
        raise ImpossibleInput("length in mm", repr(mm), "Give a number up to 10000")
    too_fine = exact != 0 and exact.adjusted() < -6  # also keeps 1E-999999 from becoming a huge fraction
    if too_fine or (nm := Fraction(exact) * NM_PER_MM).denominator != 1:
        raise ImpossibleInput("length in mm", repr(mm), "Give at most six decimals")
    return nm.numerator


def round_to(nm: int, *, step_nm: int, rule: Rounding = Rounding.HALF_EVEN) -> int:
    """The multiple of a step nearest to a length; ties by the rule; exact integer arithmetic.

    Round once, from the unrounded length. Source of the two rules: ISO 80000-1:2009, Annex B.

    >>> round_to(12_250, step_nm=100), round_to(12_250, step_nm=100, rule=Rounding.HALF_AWAY)
    (12200, 12300)
    """
    if step_nm <= 0:
        raise ImpossibleInput("rounding step", f"{step_nm} nm", "Give a step above zero")
    steps, rest = divmod(abs(nm), step_nm)
    half_way = 2 * rest == step_nm
    if 2 * rest > step_nm or (half_way and (rule is Rounding.HALF_AWAY or steps % 2 == 1)):
        steps += 1
    return steps * step_nm if nm >= 0 else -steps * step_nm
