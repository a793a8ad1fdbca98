"""Limits and a plan, asked of any mean and spread; and the reading error that makes one ask again."""

import math
from dataclasses import dataclass
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, show_exact
from inventory.calc.sampling.variables.shares import VariablesPlan, share_beyond


class Form(StrEnum):
    """By the estimated share (M), or for one limit by the distance in spreads (k)."""

    M = "M"
    K = "k"


@dataclass(frozen=True, slots=True)
class ReadingError:
    """Reading error in nm: standard uncertainty of each reading's own, and of what all of them share.

    The shared part (tape, the person's habit) shifts the mean and does not shrink with more readings; a shift
    of ``multiplier`` times it is allowed for on either side (1.645: 5 % on each).
    """

    own_u_nm: float = 0.0
    shared_u_nm: float = 0.0
    multiplier: float = 1.645

    def __post_init__(self) -> None:
        for thing, value in (
            ("own reading error", self.own_u_nm),
            ("shared reading error", self.shared_u_nm),
            ("multiplier of the shared error", self.multiplier),
        ):
            if not (math.isfinite(value) and value >= 0):
                raise ImpossibleInput(thing, f"{value:g}", "Give zero or more")

    @property
    def shift_nm(self) -> float:
        """How far the mean may lie off (nm)."""
        return self.multiplier * self.shared_u_nm


NO_ERROR = ReadingError()
"""As the standards judge: readings taken for the truth."""


@dataclass(frozen=True, slots=True)
class Question:
    """Limits and plan, asked of any mean and spread."""

    plan: VariablesPlan
    lower_nm: int | None
    upper_nm: int | None
    form: Form = Form.M

    def __post_init__(self) -> None:
        if self.form is Form.M and not self.plan.m > 0:
            raise ImpossibleInput(
                "greatest share M",
                f"0, as k {self.plan.k:g} is beyond what {self.plan.n} readings can estimate",
                "Use form k with one limit, or a plan with more readings",
            )
        lower_nm, upper_nm = self.lower_nm, self.upper_nm
        if lower_nm is None and upper_nm is None:
            raise ImpossibleInput("limit", "missing on both sides", "Give a lower or an upper limit, or both")
        if lower_nm is None or upper_nm is None:
            return
        if lower_nm > upper_nm:
            shown = show_exact(upper_nm, unit=Unit.MM)
            raise ImpossibleInput(
                "lower limit",
                f"{show_exact(lower_nm, unit=Unit.MM)}, above the upper limit {shown}",
                "Swap the two",
            )
        if self.form is Form.K:
            raise ImpossibleInput(
                "form", "k, with limits on both sides", "Use form M, which adds both shares"
            )

    def distances(self, mean_nm: float, spread_nm: float) -> tuple[float | None, float | None]:
        """From the lower and to the upper limit, in spreads; ``None`` where there is no limit."""
        lower = None if self.lower_nm is None else _in_spreads(mean_nm - self.lower_nm, spread_nm)
        upper = None if self.upper_nm is None else _in_spreads(self.upper_nm - mean_nm, spread_nm)
        return lower, upper

    def shares(self, mean_nm: float, spread_nm: float) -> tuple[float, float]:
        """Estimated shares below the lower and above the upper limit."""
        below, above = (
            0.0 if q is None else share_beyond(q, n=self.plan.n, spread=self.plan.spread)
            for q in self.distances(mean_nm, spread_nm)
        )
        return below, above

    def out(self, mean_nm: float, spread_nm: float) -> float:
        """Estimated share out of tolerance."""
        return min(sum(self.shares(mean_nm, spread_nm)), 1.0)

    def passes(self, mean_nm: float, spread_nm: float) -> bool:
        """Whether the plan accepts, going by its form."""
        if self.form is Form.M:
            return self.out(mean_nm, spread_nm) <= self.plan.m
        return all(q >= self.plan.k for q in self.distances(mean_nm, spread_nm) if q is not None)

    def means(self, mean_nm: float, shift_nm: float) -> tuple[float, float]:
        """The mean shifted in the maker's favour as far as it helps, and against as far as it goes."""
        low, high = mean_nm - shift_nm, mean_nm + shift_nm
        if self.lower_nm is None:
            return low, high
        if self.upper_nm is None:
            return high, low
        middle = (self.lower_nm + self.upper_nm) / 2
        return min(max(middle, low), high), max(low, high, key=lambda mean: abs(mean - middle))


def _in_spreads(inside_nm: float, spread_nm: float) -> float:
    # All readings alike: on the limit is still in tolerance, so zero counts as inside.
    if spread_nm == 0:
        return math.inf if inside_nm >= 0 else -math.inf
    return inside_nm / spread_nm
