"""How well a stored finding is known: by how many people it was read, and its degrees of freedom.

A finding keeps its uncertainty and the fewest readings of a side, not who read them. Both follow from the
plan it was judged by: of all ways in which it can have been read, the first that gives its uncertainty.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations_with_replacement

from inventory.calc import uncertainty
from inventory.calc.judging.findings import Finding
from inventory.calc.plan import Aspect, PointPlan
from inventory.calc.uncertainty import Combined, Hands

APART = Hands(1, 1, 0)
"""One person read the left half, another the right."""

MOST_READINGS = 12
"""Readings of one side past which no rule asks for more."""


@dataclass(frozen=True, slots=True)
class Sureness:
    """Uncertainty (nm) with its degrees of freedom (None: known well), and the people behind the value."""

    u_nm: int
    dof: int | None
    people: int

    def as_combined(self) -> Combined:
        """As the calculations of risk take it."""
        return Combined(float(self.u_nm), self.dof)


def sureness_of(finding: Finding, plan: PointPlan) -> Sureness:
    """How well a finding is known, by the plan it was judged by.

    Where no way of reading gives its uncertainty, the fewest degrees of freedom and one person are taken.

    >>> from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF
    >>> from inventory.calc.judging import Taken, judge_point
    >>> from inventory.calc.uncertainty import ReadingError
    >>> plan = PointPlan("CF", "length", False, 330_000_000, 6_000_000, 6_000_000, "half", None,
    ...                  ReadingError(2_000_000, 1_000_000, repeat_dof=9))
    >>> found, = judge_point(plan, {"S": Taken(330_000_000, 3, 2)}, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
    >>> sureness_of(found, plan)
    Sureness(u_nm=1354007, dof=17, people=2)
    """
    for people, sure in _ways(finding, plan):
        if math.ceil(sure.u_nm) == finding.u_nm:
            return Sureness(finding.u_nm, sure.dof, people)
    known = [dof for dof in (plan.error.repeat_dof, plan.error.person_dof) if dof is not None]
    return Sureness(finding.u_nm, min(known, default=None), 1)


def _ways(finding: Finding, plan: PointPlan) -> Iterator[tuple[int, Combined]]:
    """Every way the value can have been read, with the fewest people and readings first."""
    least = finding.readings
    for people in range(1, least + 1):
        if finding.aspect in (Aspect.LEFT, Aspect.RIGHT, Aspect.SINGLE):
            for alone in _shares(least, people):
                yield people, uncertainty.mean(plan.error, readings=least, people=people, alone=alone)
        elif finding.aspect is Aspect.FULL and (finding.from_one_half or not plan.paired):
            pair = uncertainty.pair_sd_from_limit(plan.unseen_pair_limit_nm) if finding.from_one_half else 0.0
            for alone in _shares(least, people):
                yield (
                    people,
                    uncertainty.full_from_one_half(
                        plan.error, readings=least, people=people, alone=alone, pair_sd_nm=pair
                    ),
                )
        else:
            for hands in (uncertainty.even(people), APART) if people == 1 else (uncertainty.even(people),):
                for most in range(least, MOST_READINGS + 1):
                    yield people, _of_both(finding.aspect, plan, (least, most), hands)


def _of_both(aspect: Aspect, plan: PointPlan, readings: tuple[int, int], hands: Hands) -> Combined:
    of = uncertainty.difference if aspect is Aspect.PAIR else uncertainty.full_from_halves
    return of(plan.error, left_readings=readings[0], right_readings=readings[1], hands=hands)


def _shares(readings: int, people: int) -> list[float]:
    """The sums of squared shares with which so many people can have taken the readings, even ones first.

    >>> _shares(4, 2)
    [0.5, 0.625]
    """
    splits = (
        split
        for split in combinations_with_replacement(range(1, readings + 1), people)
        if sum(split) == readings
    )
    return sorted({1 / people, *(sum(count * count for count in split) / readings**2 for split in splits)})
