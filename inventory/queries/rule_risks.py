"""What a decision rule risks at a limit: for one look, and when it is measured again until it is clear."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from inventory.calc import risk

if TYPE_CHECKING:
    from inventory.models import DecisionRule


_NEVER = 1e-12
"""A chance past which no further look matters, and no bell curve is to be trusted anyway."""


@dataclass(frozen=True, slots=True)
class RuleRisk:
    """Shares of pieces just at a limit that are called wrongly, at worst: all readings by one person.

    `keeping`: the multiple of the uncertainty that keeps the share of one look over all of them; None where
    looking again adds nothing.
    """

    one_look: float
    looks: int
    all_looks: float
    keeping: Decimal | None

    @property
    def sentence(self) -> str:
        """In words, for the people who choose the rule."""
        if self.one_look == 0.5:
            return "At a limit half of the verdicts are wrong, however often one looks."
        one = f"Just at a limit, one look is called wrongly with a chance of {risk.percent(self.one_look)}"
        if self.looks == 1:
            return f"{one}; this rule looks only once."
        return f"{one}; with up to {self.looks} looks, stopping at the first clear one, at most {self.more}."

    @property
    def more(self) -> str:
        """The risk over all looks."""
        return risk.percent(self.all_looks)


def risk_of_rule(row: DecisionRule) -> RuleRisk:
    """The risks of a rule. No query.

    The person part of the error is the same at each look and lowers the share; it is left out, so "at most".
    """
    rule = row.as_rule()
    return _kept(float(rule.multiplier), rule.risk_at_the_limit, rule.max_repeats)


@lru_cache(maxsize=256)
def _kept(multiplier: float, one_look: float, looks: int) -> RuleRisk:
    if looks == 1 or multiplier == 0 or one_look < _NEVER:
        return RuleRisk(one_look, looks, one_look, None)
    keeping = Decimal(risk.multiplier_for_looks(one_look, looks=looks))
    return RuleRisk(
        one_look=one_look,
        looks=looks,
        all_looks=risk.risk_of_looking_again(multiplier, looks=looks),
        keeping=keeping.quantize(Decimal("0.001"), rounding=ROUND_UP),
    )
