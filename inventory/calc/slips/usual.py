"""What a reading here usually is: the nominal, moved by what the batch or the other side has shown already.

A maker who cuts 8 mm small does so on every piece, and two sides cut from one pattern in one lay are small
together. A reading that agrees with either is a fact about the garment, not a slip of the person. Both are
believed up to 15 mm only: farther off, a whole batch or both sides are more likely of another size, or read
from the wrong mark of the tape, and the question is worth asking each time. How alike two sides are, and how
far a habit is believed, are common practice without a written source.
"""

import math
from dataclasses import dataclass
from typing import Final

from inventory.calc.length import NM_PER_MM
from inventory.calc.slips.kinds import Expected

MOST_SHIFT_NM: Final = 15 * NM_PER_MM
SAME_SIDES_NM: Final = 4 * NM_PER_MM
"""Two sides of a piece this close, against their nominals, confirm each other."""
_SIDES_SPREAD_NM: Final = 3.5 * NM_PER_MM


@dataclass(frozen=True, slots=True)
class Usual:
    """Where an honest reading of this side lies and how far around (nm).

    `by_other_side` says that it was learnt from the other side of this very piece.
    """

    centre_nm: int
    spread_nm: float
    by_other_side: bool

    def distance(self, nm: int) -> float:
        """How far a length lies from the usual, in spreads."""
        return abs(nm - self.centre_nm) / self.spread_nm

    def is_confirmed(self, nm: int) -> bool:
        """Whether the other side reads the same."""
        return self.by_other_side and abs(nm - self.centre_nm) <= SAME_SIDES_NM


def usual_here(
    expected: Expected,
    *,
    other_side_nm: int | None = None,
    other_side_expected: Expected | None = None,
    batch_shift_nm: int = 0,
) -> Usual:
    """What is usual for a side, given the other side as read (nm) or the habit of the batch (nm).

    >>> waist = Expected(330_000_000, 321_000_000, 339_000_000)
    >>> usual_here(waist, other_side_nm=318_000_000)
    Usual(centre_nm=318000000, spread_nm=3500000.0, by_other_side=True)
    >>> usual_here(waist, other_side_nm=660_000_000, batch_shift_nm=-8_000_000).centre_nm
    322000000
    """
    if other_side_nm is not None:
        shift_nm = other_side_nm - (other_side_expected or expected).nominal_nm
        if abs(shift_nm) <= MOST_SHIFT_NM:
            return Usual(expected.nominal_nm + shift_nm, _SIDES_SPREAD_NM, by_other_side=True)
    return Usual(expected.nominal_nm + believed(batch_shift_nm), expected.spread_nm, by_other_side=False)


def believed(batch_shift_nm: int) -> int:
    """The habit of a batch (nm) as far as it is taken for one; 0 beyond.

    >>> believed(-8_000_000), believed(25_400_000)
    (-8000000, 0)
    """
    return batch_shift_nm if abs(batch_shift_nm) <= MOST_SHIFT_NM else 0


def density(distance: float, spread_nm: float) -> float:
    """Height of the normal curve at so many spreads, per millimetre, but for a constant."""
    return math.exp(-(distance**2) / 2) / (spread_nm / NM_PER_MM)
