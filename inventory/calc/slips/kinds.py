"""The slips, what is expected of a reading, and what the guard says about it."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, show_exact

PointKind = Literal["half", "full", "length", "placement"]

LEAST_SPREAD_NM: Final = 500_000
"""Nobody reads a tape closer than about half a millimetre (common practice, no source)."""


class SlipKind(StrEnum):
    """The slips the guard knows; `X_FOR_Y` means X was typed where Y is asked."""

    FULL_FOR_HALF = "full_for_half"
    HALF_FOR_FULL = "half_for_full"
    INCH_FOR_CM = "inch_for_cm"
    INCH_FOR_MM = "inch_for_mm"
    CM_FOR_INCH = "cm_for_inch"
    CM_FOR_MM = "cm_for_mm"
    MM_FOR_INCH = "mm_for_inch"
    MM_FOR_CM = "mm_for_cm"
    DECIMAL_POINT = "decimal_point"
    FRACTION_AS_DECIMALS = "fraction_as_decimals"
    START_MARK_INCH = "start_mark_inch"
    START_MARK_10CM = "start_mark_10cm"
    TENS = "tens"
    SWAPPED_DIGITS = "swapped_digits"
    NEIGHBOUR_POINT = "neighbour_point"
    NEIGHBOUR_SIZE = "neighbour_size"
    SIDES_SWAPPED = "sides_swapped"
    NOTHING_READ = "nothing_read"
    FAR_OFF = "far_off"
    REPEATS_DISAGREE = "repeats_disagree"
    HEAPING = "heaping"


@dataclass(frozen=True, slots=True)
class Expected:
    """What one side should read (nm): nominal, and limits already widened by the guard band.

    Raises ImpossibleInput unless lower <= nominal <= upper.
    """

    nominal_nm: int
    lower_nm: int
    upper_nm: int

    def __post_init__(self) -> None:
        if not self.lower_nm <= self.nominal_nm <= self.upper_nm:
            shown = [show_exact(nm, unit=Unit.MM) for nm in (self.nominal_nm, self.lower_nm, self.upper_nm)]
            fault = f"{shown[0]}, not within its limits {shown[1]} to {shown[2]}"
            raise ImpossibleInput("expected reading", fault, "Correct the tolerance")

    def holds(self, nm: int, *, reach: float = 1.0) -> bool:
        """Whether a length lies within the limits, or within `reach` times their distance from nominal."""
        below, above = self.nominal_nm - self.lower_nm, self.upper_nm - self.nominal_nm
        return -reach * below <= nm - self.nominal_nm <= reach * above

    @property
    def spread_nm(self) -> float:
        """Spread of honest readings: limits are commonly set about two of them from the nominal."""
        return max((self.upper_nm - self.lower_nm) / 4, LEAST_SPREAD_NM)

    def distance(self, nm: int) -> float:
        """How far a length lies from the nominal, in spreads."""
        return abs(nm - self.nominal_nm) / self.spread_nm


@dataclass(frozen=True, slots=True)
class Slip:
    """A likely slip: its kind, the reading without it (None if it cannot be known), and the question."""

    kind: SlipKind
    suggestion_nm: int | None
    question: str
