"""From readings of one point to a verdict on the batch."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.variables.question import NO_ERROR, Form, Question, ReadingError
from inventory.calc.sampling.variables.shares import Spread, VariablesPlan


class VariablesVerdict(StrEnum):
    """What the sample says of the batch."""

    ACCEPTED = "accepted"
    REFUSED = "refused"
    CLOSE = "close"

    @property
    def words(self) -> str:
        """For the page."""
        return "too close to call" if self is VariablesVerdict.CLOSE else self.value


@dataclass(frozen=True, slots=True)
class Judged:
    """The verdict and how it came about: lengths in nm, shares of the batch from 0 to 1.

    ``below`` and ``above`` are estimated as measured. ``least`` and ``most`` allow for the reading error;
    ``made_spread_nm`` is the spread without it, 0 when nothing is left.
    """

    verdict: VariablesVerdict
    mean_nm: float
    spread_nm: float
    made_spread_nm: float
    q_lower: float | None
    q_upper: float | None
    below: float
    above: float
    least: float
    most: float
    words: str

    @property
    def out(self) -> float:
        """Estimated share out of tolerance, as measured."""
        return self.below + self.above


def judge(
    readings_nm: Sequence[int],
    plan: VariablesPlan,
    *,
    lower_nm: int | None,
    upper_nm: int | None,
    form: Form = Form.M,
    known_spread_nm: float | None = None,
    error: ReadingError = NO_ERROR,
) -> Judged:
    """Judge a batch by one point: one reading (nm) from each piece of the sample.

    One limit or both. ``known_spread_nm`` (standard deviation of readings of this point, known from long
    before) goes with plans for a known spread, and only with them. Raises `ImpossibleInput` when readings,
    plan and limits do not fit together.

    >>> from inventory.calc.sampling.variables.table import plan_of_letter
    >>> from decimal import Decimal
    >>> plan = plan_of_letter("D", Decimal("1.0"))
    >>> found = judge([197, 188, 184, 205, 201], plan, lower_nm=None, upper_nm=209)
    >>> found.verdict.value, round(found.out, 4)
    ('accepted', 0.0218)
    """
    question = Question(plan, lower_nm, upper_nm, form)
    _check(readings_nm, question, known_spread_nm)
    mean_nm = sum(readings_nm) / len(readings_nm)
    spread_nm = _spread(readings_nm) if known_spread_nm is None else known_spread_nm
    made_nm = math.sqrt(max(spread_nm**2 - error.own_u_nm**2, 0.0))
    best, worst = question.means(mean_nm, error.shift_nm)
    if all(question.passes(worst, spread) for spread in (spread_nm, made_nm)):
        verdict = VariablesVerdict.ACCEPTED
    elif any(question.passes(best, spread) for spread in (spread_nm, made_nm)):
        verdict = VariablesVerdict.CLOSE
    else:
        verdict = VariablesVerdict.REFUSED
    below, above = question.shares(mean_nm, spread_nm)
    q_lower, q_upper = question.distances(mean_nm, spread_nm)
    found = Judged(
        verdict,
        mean_nm,
        spread_nm,
        made_nm,
        q_lower,
        q_upper,
        below,
        above,
        least=min(question.out(best, spread) for spread in (spread_nm, made_nm)),
        most=max(question.out(worst, spread) for spread in (spread_nm, made_nm)),
        words="",
    )
    return replace(found, words=_say(found, question, error))


def _say(found: Judged, question: Question, error: ReadingError) -> str:
    plan = question.plan
    if question.form is Form.M:
        allowed = f"the plan allows {_percent(plan.m)}"
    else:
        nearest = min(q for q in (found.q_lower, found.q_upper) if q is not None)
        allowed = f"the mean lies {nearest:.2f} spreads inside the limit, the plan asks for {plan.k:.2f}"
    sentence = (
        f"Estimated {_percent(min(found.out, 1.0))} out of tolerance; {allowed}: {found.verdict.words}."
    )
    if error != NO_ERROR:
        sentence += f" With our reading error allowed for, {_percent(found.least)} to {_percent(found.most)}."
    if found.verdict is VariablesVerdict.CLOSE:
        sentence += " Measure every piece, or read each more than once."
    if 0 < found.spread_nm <= error.own_u_nm:
        sentence += " The readings differ no more than our reading error alone would make them."
    return sentence


def _percent(share: float) -> str:
    """Three digits, so that what just exceeds a bound is not shown equal to it.

    >>> _percent(0.0332), _percent(0.03324), _percent(0.5), _percent(0.0), _percent(1e-9)
    ('3.32 %', '3.32 %', '50 %', '0 %', 'under 0.001 %')
    """
    if 0 < share < 0.000_01:
        return "under 0.001 %"
    return f"{float(f'{share * 100:.3g}'):g} %"


def _spread(readings_nm: Sequence[int]) -> float:
    """Standard deviation of the sample; the sums are of whole numbers, so nothing is lost before the root."""
    n, total = len(readings_nm), sum(readings_nm)
    squares = sum(reading * reading for reading in readings_nm)
    return math.sqrt((n * squares - total * total) / (n * (n - 1)))


def _check(readings_nm: Sequence[int], question: Question, known_spread_nm: float | None) -> None:
    plan = question.plan
    if len(readings_nm) != plan.n:
        raise ImpossibleInput(
            "number of readings",
            f"{len(readings_nm)}, the plan takes {plan.n}",
            "Give one of each piece drawn",
        )
    if (known_spread_nm is None) == (plan.spread is Spread.KNOWN):
        raise ImpossibleInput(
            "known spread",
            "missing"
            if known_spread_nm is None
            else f"{known_spread_nm:g} nm, for a plan that takes the sample's",
            "Give it with a plan for a known spread, and only then",
        )
    if known_spread_nm is not None and not (math.isfinite(known_spread_nm) and known_spread_nm > 0):
        raise ImpossibleInput("known spread", f"{known_spread_nm:g} nm", "Give more than zero")
