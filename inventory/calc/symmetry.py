"""Left half against right half: a requirement of its own.

A piece can be in tolerance on both sides and still twist on the body: left +6 and right −6 mm are 12 mm
apart. So the difference is judged against its own limit with its own uncertainty: a difference of two
readings by the same hands carries the repeat part of each and none of the person's habit.

Common practice, no source: a wider difference is let through where it is to the buyer's advantage, for
instance where the half that is off is the roomier one. That allowance is set per point.
"""

from dataclasses import dataclass
from typing import Literal

from inventory.calc.conformity import Decision, Limits, Rule, decide
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, show_exact

FavourableSide = Literal["plus", "minus"]


@dataclass(frozen=True, slots=True)
class PairLimit:
    """How far left and right may be apart (nm), and the wider allowance on the favourable side, if any."""

    limit_nm: int
    favourable_limit_nm: int | None = None
    favourable_side: FavourableSide | None = None

    def __post_init__(self) -> None:
        if self.limit_nm < 0:
            raise ImpossibleInput(
                "left-right limit",
                f"{show_exact(self.limit_nm, unit=Unit.MM)}, below zero",
                "Give zero or more",
            )
        if (self.favourable_limit_nm is None) != (self.favourable_side is None):
            raise ImpossibleInput(
                "favourable allowance",
                f"limit {self.favourable_limit_nm} nm, side {self.favourable_side}",
                "Give both the allowance and its side (plus or minus), or neither",
            )
        if self.favourable_limit_nm is not None and self.favourable_limit_nm < self.limit_nm:
            raise ImpossibleInput(
                "favourable allowance",
                f"{show_exact(self.favourable_limit_nm, unit=Unit.MM)}, "
                f"below the left-right limit {show_exact(self.limit_nm, unit=Unit.MM)}",
                "Give an allowance at least as wide as the limit",
            )


@dataclass(frozen=True, slots=True)
class PairDecision:
    """Left − right (nm), the limit that was applied, and the decision."""

    difference_nm: int
    limit_nm: int
    favourable: bool
    decision: Decision


def compare(
    left_nm: int,
    right_nm: int,
    *,
    nominal_nm: int,
    limit: PairLimit,
    u_nm: float,
    rule: Rule,
    readings: int = 1,
) -> PairDecision:
    """Judge left − right, with ``u_nm`` the standard uncertainty of the difference.

    The favourable allowance applies when the half further from the nominal lies on the favourable side
    of it; when both are equally far off, to opposite sides, the ordinary limit applies.

    >>> from inventory.calc.conformity import DEFAULT_SHELF
    >>> roomy = PairLimit(6_350_000, favourable_limit_nm=12_700_000, favourable_side="plus")
    >>> found = compare(340_000_000, 330_000_000, nominal_nm=330_000_000, limit=roomy,
    ...                 u_nm=1_000_000.0, rule=DEFAULT_SHELF)
    >>> found.favourable, found.decision.verdict.value
    (True, 'in')
    """
    limit_nm, favourable = limit_that_applies(left_nm, right_nm, nominal_nm=nominal_nm, limit=limit)
    difference_nm = left_nm - right_nm
    decision = decide(difference_nm, Limits(-limit_nm, limit_nm), u_nm=u_nm, rule=rule, readings=readings)
    return PairDecision(difference_nm, limit_nm, favourable, decision)


def limit_that_applies(left_nm: int, right_nm: int, *, nominal_nm: int, limit: PairLimit) -> tuple[int, bool]:
    """The limit (nm) for this pair of halves, and whether it is the favourable allowance."""
    # Of two deviations the one further from zero is on the plus side exactly when their sum is above zero.
    lean_nm = left_nm + right_nm - 2 * nominal_nm
    favourable = (limit.favourable_side == "plus" and lean_nm > 0) or (
        limit.favourable_side == "minus" and lean_nm < 0
    )
    if favourable and limit.favourable_limit_nm is not None:
        return limit.favourable_limit_nm, True
    return limit.limit_nm, False
