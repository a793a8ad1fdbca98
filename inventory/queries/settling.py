"""What further readings would do for a value that is too close to call, and whether they are worth it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from inventory.calc import risk
from inventory.calc.conformity import Limits
from inventory.calc.plan import Aspect
from inventory.calc.risk import TakenAs

if TYPE_CHECKING:
    from collections.abc import Iterable
    from decimal import Decimal

    from inventory.calc.conformity import Rule
    from inventory.calc.judging import Finding
    from inventory.calc.plan import PointPlan
    from inventory.models import Shop
    from inventory.queries.verdict_risks import FindingRisk

_WORST_LISTED: Final = 8
"""More courses than this nobody reads; a rule of 12 readings would offer 22."""


@dataclass(frozen=True, slots=True)
class Settling:
    """The outlook of one finding in words, the courses to choose from, and the money where the shop says it.

    With `both_halves` a reading of what is asked about is one of the left and one of the right half.
    It says nothing of where the value lies, so it may be shown while a reading is asked for blind.
    """

    outlook: risk.Outlook
    worth: risk.Worth | None
    minutes_each: Decimal
    both_halves: bool

    @property
    def sentence(self) -> str:
        """How many more would settle it, and how likely."""
        halves = " A reading here means one of each half." if self.both_halves else ""
        return self.outlook.sentence + halves

    @property
    def value_of_it(self) -> str:
        """What it costs: money where the shop states it, else the minutes."""
        if self.worth is not None:
            return self.worth.sentence
        if not self.outlook.chances:
            return ""
        each = f"{self.minutes_each.normalize():f}"
        return f"Each reading takes about {each} min."

    @property
    def courses(self) -> tuple[tuple[str, str, str], ...]:
        """What could be done, its minutes, and the chance that it settles the verdict."""
        return tuple(
            (
                f"{course.more} more by {'another person' if course.another_person else 'the same person'}",
                f"{(course.more * self.minutes_each).normalize():f} min",
                risk.percent(course.settles),
            )
            for course in self.outlook.chances[:_WORST_LISTED]
        )


def settling_of(finding: Finding, plan: PointPlan, *, people: int, rule: Rule, shop: Shop) -> Settling | None:
    """Look ahead from a finding; None where it is clear, decided, or cannot be settled by reading again.

    The chances take nothing for granted of the maker.
    """
    if finding.from_one_half or finding.shelf.value != "close" or finding.readings >= rule.max_repeats:
        return None
    limits = Limits(finding.lower_nm, finding.upper_nm)
    taken_as = _taken_as(finding, plan)
    both_halves = taken_as in (TakenAs.SUM, TakenAs.DIFFERENCE)
    minutes = shop.minutes_per_reading * (2 if both_halves else 1)
    seen = risk.outlook(
        finding.value_nm,
        limits,
        error=risk.round_error(plan.error, taken_as),
        readings=finding.readings,
        people=min(people, finding.readings),
        rule=rule,
    )
    return Settling(seen, _worth(seen, finding, shop, minutes), minutes, both_halves)


def _taken_as(finding: Finding, plan: PointPlan) -> TakenAs:
    if finding.aspect is Aspect.PAIR:
        return TakenAs.DIFFERENCE
    if finding.aspect is Aspect.FULL:
        return TakenAs.SUM if plan.paired else TakenAs.TWICE
    return TakenAs.SIDE


def _worth(seen: risk.Outlook, finding: Finding, shop: Shop, minutes: Decimal) -> risk.Worth | None:
    """In money: what a wrong plain decision by the mean now would cost, against the minutes."""
    wrong = shop.cost_of_wrong_out if finding.beyond_nm else shop.cost_of_wrong_in
    if shop.cost_per_hour is None or wrong is None:
        return None
    return risk.worth_it(
        seen,
        minutes_a_reading=float(minutes),
        cost_of_an_hour=shop.cost_per_hour,
        cost_of_a_wrong_verdict=wrong,
    )


def first_to_settle(risks: Iterable[FindingRisk], *, shop: Shop) -> tuple[FindingRisk, Settling] | None:
    """Of a judged piece the first point that reading again could settle, by the shop's rule of today."""
    rule = shop.shelf_rule.as_rule()
    for one in risks:
        found = settling_of(one.finding, one.plan, people=one.sure.people, rule=rule, shop=shop)
        if found is not None:
            return one, found
    return None
