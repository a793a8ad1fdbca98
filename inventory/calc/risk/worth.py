"""Whether more readings are worth their minutes: what they cost against the wrong verdicts they save.

The plain sum of a shopkeeper: (chance of deciding wrongly now − chance afterwards) × what a wrong decision
costs, less minutes × what a minute costs. Money in any one currency.
"""

import math
from dataclasses import dataclass
from decimal import Decimal

from inventory.calc.conformity import Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.risk.reading import percent
from inventory.calc.risk.repeats import Chance, Outlook

_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Worth:
    """The best course among those the rule allows: ``best`` None where there is nothing to settle.

    ``saves`` and ``costs`` are of that course, in money, to the hundredth.
    """

    best: Chance | None
    saves: Decimal
    costs: Decimal
    sentence: str

    @property
    def worth_it(self) -> bool:
        """Whether it saves more than it costs."""
        return self.best is not None and self.saves > self.costs


def worth_it(
    found: Outlook, *, minutes_a_reading: float, cost_of_an_hour: Decimal, cost_of_a_wrong_verdict: Decimal
) -> Worth:
    """Weigh every course of the outlook and name the best one.

    >>> from inventory.calc.conformity import DEFAULT_SHELF, Limits
    >>> from inventory.calc.risk.repeats import outlook
    >>> from inventory.calc.uncertainty import ReadingError
    >>> close = outlook(335_000_000, Limits(324_000_000, 336_000_000), error=ReadingError(2_000_000, 0),
    ...                 readings=1, rule=DEFAULT_SHELF)
    >>> print(worth_it(close, minutes_a_reading=1, cost_of_an_hour=Decimal(30),
    ...                cost_of_a_wrong_verdict=Decimal(60)).sentence)
    Worth it: 3 more readings by the same person cost 1.50 and save 9.80 on average; the chance that they \
change the decision is 28.2 %.
    """
    _check(minutes_a_reading, cost_of_an_hour, cost_of_a_wrong_verdict)
    if found.verdict is not Verdict.CLOSE or not found.chances:
        return Worth(None, Decimal(0), Decimal(0), "There is nothing that another reading could settle.")

    def sums(chance: Chance) -> tuple[Decimal, Decimal]:
        saves = Decimal(max(0.0, found.wrong_now - chance.wrong)) * cost_of_a_wrong_verdict
        costs = Decimal(chance.more * minutes_a_reading) / 60 * cost_of_an_hour
        return saves.quantize(_CENT), costs.quantize(_CENT)

    # Of equals the fewer readings, and rather by the person who has the piece in hand.
    best = max(found.chances, key=lambda c: (sums(c)[0] - sums(c)[1], -c.more, not c.another_person))
    saves, costs = sums(best)
    return Worth(best, saves, costs, _words(best, saves, costs))


def _words(best: Chance, saves: Decimal, costs: Decimal) -> str:
    who = "another person" if best.another_person else "the same person"
    course = (
        f"1 more reading by {who} costs" if best.more == 1 else f"{best.more} more readings by {who} cost"
    )
    saved = f"{'saves' if best.more == 1 else 'save'} {saves} on average"
    it = "it changes" if best.more == 1 else "they change"
    verdict = "Worth it" if saves > costs else "Not worth it"
    return (
        f"{verdict}: {course} {costs} and {saved}; "
        f"the chance that {it} the decision is {percent(best.changes)}."
    )


def _check(minutes: float, hour: Decimal, wrong: Decimal) -> None:
    if not 0 <= minutes < math.inf:
        raise ImpossibleInput("minutes a reading", minutes, "Give zero or more")
    for thing, money in (("cost of an hour", hour), ("cost of a wrong verdict", wrong)):
        if not (money.is_finite() and money >= 0):
            raise ImpossibleInput(thing, money, "Give zero or more")
