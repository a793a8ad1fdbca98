"""The classes of tapes: what each may be off, and the standard uncertainty that follows.

Source of all coefficients: Directive 2014/32/EU, Annex X (MI-008), chapter I, tables 1 and 2; OIML R 35-1
has the same for classes I to III (from memory). The limits hold at 20 °C, and for tapes of 5 m and more at
a pull of 50 N.
"""

import math
from enum import StrEnum
from typing import Final, NamedTuple

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import NM_PER_MM, Unit, show_exact

REFERENCE_TEMPERATURE_C: Final = 20
REFERENCE_TENSION_N: Final = 50
_METRE_NM: Final = 1000 * NM_PER_MM
_TENTH_NM: Final = NM_PER_MM // 10


class TapeClass(StrEnum):
    """The accuracy class printed on a tape; most sewing tapes have none."""

    I = "I"  # noqa: E741 - the class is called so
    II = "II"
    III = "III"
    UNCLASSED = "unclassed"

    @property
    def label(self) -> str:
        """The class in words."""
        return "no class" if self is TapeClass.UNCLASSED else f"class {self.value}"


class _Coefficients(NamedTuple):
    """a, b (per metre) and c (hook or end surface), and two limits of one interval, all in tenths of a mm."""

    a: int
    b: int
    c: int
    up_to_1_mm: int
    up_to_1_cm: int


_COEFFICIENTS: Final = {
    TapeClass.I: _Coefficients(1, 1, 1, 1, 2),
    TapeClass.II: _Coefficients(3, 2, 2, 2, 4),
    TapeClass.III: _Coefficients(6, 4, 3, 3, 6),
}


def mpe_nm(tape_class: TapeClass, length_nm: int, *, from_end: bool = False) -> int:
    """Maximum permissible error (nm) between two marks `length_nm` apart: a + b·L, L in begun metres.

    `from_end`: one of the two is the hook or the end of the tape, which adds c. Raises ImpossibleInput for a
    tape without a class and for a length that is not above zero.

    >>> mpe_nm(TapeClass.II, 330_000_000), mpe_nm(TapeClass.II, 330_000_000, from_end=True)
    (500000, 700000)
    """
    row = _coefficients(tape_class)
    if length_nm <= 0:
        raise ImpossibleInput("length", show_exact(length_nm, unit=Unit.MM), "Give a length above zero")
    metres = -(-length_nm // _METRE_NM)
    return _TENTH_NM * (row.a + row.b * metres + (row.c if from_end else 0))


def interval_mpe_nm(tape_class: TapeClass, interval_nm: int) -> int:
    """Maximum permissible error (nm) of one interval of the scale of up to 1 cm (table 2).

    Raises ImpossibleInput for a tape without a class and for an interval of another size.

    >>> interval_mpe_nm(TapeClass.II, 5_000_000)
    400000
    """
    row = _coefficients(tape_class)
    if not 0 < interval_nm <= 10 * NM_PER_MM:
        raise ImpossibleInput(
            "interval of the scale", show_exact(interval_nm, unit=Unit.MM), "Give one above zero, up to 1 cm"
        )
    return _TENTH_NM * (row.up_to_1_mm if interval_nm <= NM_PER_MM else row.up_to_1_cm)


def tape_u_nm(
    tape_class: TapeClass, length_nm: int, *, from_end: bool = False, stated_u_nm: float | None = None
) -> float:
    """Standard uncertainty (nm) that an unchecked tape brings to a reading.

    With a class: MPE/√3, for all we know is that the error lies within the MPE (GUM 4.3.7, from memory).
    Without: what the shop states, `stated_u_nm`; ImpossibleInput when it states nothing.

    >>> round(tape_u_nm(TapeClass.II, 330_000_000))
    288675
    """
    if tape_class is not TapeClass.UNCLASSED:
        return mpe_nm(tape_class, length_nm, from_end=from_end) / math.sqrt(3)
    if stated_u_nm is None or not 0 <= stated_u_nm < math.inf:
        raise ImpossibleInput(
            "standard uncertainty of a tape without a class",
            "not stated" if stated_u_nm is None else f"{stated_u_nm} nm",
            "State one, zero or more, or check the tape against a steel rule",
        )
    return stated_u_nm


def _coefficients(tape_class: TapeClass) -> _Coefficients:
    if tape_class is TapeClass.UNCLASSED:
        raise ImpossibleInput(
            "tape", "without a class, so nothing is promised", "Check it against a steel rule instead"
        )
    return _COEFFICIENTS[tape_class]
