"""Which division of the inch readings keep to: that of the tape, whatever the shop shows lengths in."""

from collections.abc import Sequence
from typing import Final

from inventory.calc.length import DENOMINATORS, Unit, nm_per_unit

_TAPES: Final = tuple(denominator for denominator in DENOMINATORS if denominator >= 8)
_ODD: Final = 20


def division_of(values_nm: Sequence[int]) -> int:
    """The coarsest division from eighths on that nearly all readings (nm) are marks of, as its denominator.

    Not coarser than eighths: readings that are all halves are the heap to be found. Nearly all: one figure
    in twenty may be typed finer, or in decimals. Both are common practice, no source.

    >>> division_of([330_200_000, 331_787_500]), division_of([330_200_000])
    (16, 8)
    """
    per_inch = nm_per_unit()[Unit.INCH]
    for denominator in _TAPES:
        off = sum(value % (per_inch // denominator) != 0 for value in values_nm)
        if off * _ODD <= len(values_nm):
            return denominator
    return _TAPES[-1]
