"""The tape check as written down: a tape along a steel rule, read at two lengths.

The limits here for what is absurd and what is too near are common practice, no source.
"""

import math
from dataclasses import dataclass
from typing import Final

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import NM_PER_MM, Unit, show_exact
from inventory.calc.tape_class.classes import TapeClass, tape_u_nm

MIN_APART_NM: Final = 150 * NM_PER_MM
"""Two lengths nearer than this cannot tell stretch: 1 % of it is 1.5 mm, little more than a tape shows."""

ABSURD_NM: Final = 10 * NM_PER_MM
ABSURD_SHARE: Final = 0.03
"""An error above both 10 mm and 3 % of the length is a slip of the check."""

MAX_SPREAD_NM: Final = 10 * NM_PER_MM

RULE_U_NM: Final = tape_u_nm(TapeClass.I, 1000 * NM_PER_MM)
"""A steel rule of up to a metre, as good as a tape of class I."""


@dataclass(frozen=True, slots=True)
class CheckedLength:
    """What the steel rule shows (nm) and what the tape read there, once or more (nm)."""

    rule_nm: int
    readings_nm: tuple[int, ...]

    def __post_init__(self) -> None:
        at = show_exact(self.rule_nm, unit=Unit.MM)
        if self.rule_nm <= 0:
            raise ImpossibleInput("length on the rule", at, "Give a length above zero")
        if not self.readings_nm:
            raise ImpossibleInput(f"number of readings at {at}", 0, "Take at least one reading")
        spread = max(self.readings_nm) - min(self.readings_nm)
        if spread > MAX_SPREAD_NM:
            apart = f"{show_exact(spread, unit=Unit.MM)} apart"
            raise ImpossibleInput(f"pair of readings at {at}", apart, "Read both again")
        if abs(self.error_nm) > max(ABSURD_NM, ABSURD_SHARE * self.rule_nm):
            raise ImpossibleInput(
                f"difference between tape and rule at {at}",
                f"{signed_mm(self.error_nm)}, and that is not a tape error",
                "Was the tape laid from its start? Lay both from zero, read the same unit, and check again",
            )

    @property
    def error_nm(self) -> float:
        """Mean reading minus rule (nm); below zero when the tape reads short."""
        return math.fsum(reading - self.rule_nm for reading in self.readings_nm) / len(self.readings_nm)


@dataclass(frozen=True, slots=True)
class TapeCheck:
    """One check at two lengths; `division_nm` is what the tape was read to, `rule_u_nm` the rule's own u."""

    shorter: CheckedLength
    longer: CheckedLength
    division_nm: int = NM_PER_MM
    rule_u_nm: float = RULE_U_NM

    def __post_init__(self) -> None:
        apart = self.longer.rule_nm - self.shorter.rule_nm
        if apart < MIN_APART_NM:
            raise ImpossibleInput(
                "distance between the two checked lengths",
                f"{show_exact(apart, unit=Unit.MM)}, too little to tell stretch from a wrong start",
                "Check two lengths, shorter first, at least "
                f"{show_exact(MIN_APART_NM, unit=Unit.MM)} apart, such as 300 mm and 600 mm",
            )
        if self.division_nm < 0 or not 0 <= self.rule_u_nm < math.inf:
            value = f"{self.division_nm} nm and {self.rule_u_nm} nm"
            raise ImpossibleInput("division or uncertainty of the rule", value, "Give zero or more")


def signed_mm(nm: float) -> str:
    """An error in mm, to 0.1, with its sign."""
    return f"{nm / NM_PER_MM:+.1f} mm".replace("-", "\N{MINUS SIGN}")
