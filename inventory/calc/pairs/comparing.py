"""The mean difference, its interval, and whether it is small enough (Student, Welch, two one-sided tests)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import stdtr, stdtrit

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Interval, Sample, sample_of


class Outcome(StrEnum):
    """Whether two ways of measuring agree within a margin."""

    AGREE = "agree"
    DIFFER = "differ"
    CANNOT_TELL = "cannot_tell"

    @property
    def label(self) -> str:
        """The outcome in words."""
        return {
            "agree": "agree within the margin",
            "differ": "differ by more than the margin",
            "cannot_tell": "cannot tell",
        }[self.value]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Mean difference and its standard error (nm), degrees of freedom, t against none, and its p.

    A standard error of zero (all differences the same figure: the division hides their spread) gives an
    endless t, or 0 when the differences are none.
    """

    mean_nm: float
    se_nm: float
    dof: float

    @property
    def t(self) -> float:
        """How many standard errors the mean difference is from none."""
        return _ratio(self.mean_nm, self.se_nm)

    @property
    def p(self) -> float:
        """The chance of a mean difference at least as large, either way, if there were none."""
        return 2 * float(stdtr(self.dof, -abs(self.t)))

    def interval(self, *, confidence: float = 0.95) -> Interval:
        """Where the true mean difference lies (nm)."""
        if not 0 < confidence < 1:
            raise ImpossibleInput("confidence", confidence, "Give a number between 0 and 1")
        reach = float(stdtrit(self.dof, (1 + confidence) / 2)) * self.se_nm
        return Interval(self.mean_nm - reach, self.mean_nm + reach)


@dataclass(frozen=True, slots=True)
class Equivalence:
    """Two one-sided tests of a margin (nm): t and p of each, the larger p, the 1 − 2α interval, outcome.

    `above` tests that the difference lies above −margin, `below` that it lies below +margin; they agree when
    both are shown, which is when the interval lies within the margin.
    """

    margin_nm: float
    t_above: float
    p_above: float
    t_below: float
    p_below: float
    interval: Interval
    outcome: Outcome

    @property
    def p(self) -> float:
        """The larger of the two p."""
        return max(self.p_above, self.p_below)


def differences_nm(first_nm: Sequence[int], second_nm: Sequence[int]) -> list[int]:
    """First minus second, pair by pair (nm); refuses lists of different length and fewer than two pairs.

    >>> differences_nm([331, 329], [330, 330])
    [1, -1]
    """
    if len(first_nm) != len(second_nm):
        counts = f"{len(first_nm)} and {len(second_nm)}"
        raise ImpossibleInput("number of figures", counts, "Give one of each for every pair")
    if len(first_nm) < 2:
        raise ImpossibleInput("number of pairs", len(first_nm), "Take at least two")
    return [a - b for a, b in zip(first_nm, second_nm, strict=True)]


def paired(first_nm: Sequence[int], second_nm: Sequence[int]) -> Comparison:
    """The mean difference of pairs: t with n − 1 degrees of freedom (Student 1908).

    >>> found = paired([332, 330, 334], [330, 330, 330])
    >>> found.mean_nm, found.dof, round(found.t, 3)
    (2.0, 2, 1.732)
    """
    return comparison_of(sample_of(differences_nm(first_nm, second_nm)))


def comparison_of(differences: Sample) -> Comparison:
    """The same from count, mean and SD of the differences (nm)."""
    return Comparison(differences.mean, differences.sd / math.sqrt(differences.n), differences.n - 1)


def unpaired(first_nm: Sequence[int], second_nm: Sequence[int]) -> Comparison:
    """The difference of two means over *different* pieces, spreads not taken as equal (Welch 1947).

    Degrees of freedom by Welch and Satterthwaite, not rounded. For the same pieces use `paired`.
    """
    first, second = sample_of(first_nm), sample_of(second_nm)
    parts = [(s.sd**2 / s.n, s.n - 1) for s in (first, second)]
    square = math.fsum(part for part, _ in parts)
    doubt = math.fsum(part**2 / dof for part, dof in parts)
    dof = square**2 / doubt if doubt else float(first.n + second.n - 2)
    return Comparison(first.mean - second.mean, math.sqrt(square), dof)


def equivalence(comparison: Comparison, *, margin_nm: float, alpha: float = 0.05) -> Equivalence:
    """Whether the mean difference lies within ± margin, at `alpha` on each side (TOST, Schuirmann 1987).

    They *differ* when the 1 − 2·alpha interval lies wholly beyond the margin. The margin must be fixed before
    looking. Raises ImpossibleInput for a margin not above zero and an alpha not between 0 and 0.5.

    >>> equivalence(Comparison(1.0, 1.0, 9), margin_nm=5.0).outcome.value
    'agree'
    """
    if not 0 < margin_nm < math.inf:
        raise ImpossibleInput("margin", f"{margin_nm} nm", "Give one above zero")
    if not 0 < alpha < 0.5:
        raise ImpossibleInput("risk on each side", alpha, "Give a number between 0 and 0.5, such as 0.05")
    t_above = _ratio(comparison.mean_nm + margin_nm, comparison.se_nm)
    t_below = _ratio(comparison.mean_nm - margin_nm, comparison.se_nm)
    p_above = float(stdtr(comparison.dof, -t_above))
    p_below = float(stdtr(comparison.dof, t_below))
    interval = comparison.interval(confidence=1 - 2 * alpha)
    if max(p_above, p_below) < alpha:
        outcome = Outcome.AGREE
    elif interval.low > margin_nm or interval.high < -margin_nm:
        outcome = Outcome.DIFFER
    else:
        outcome = Outcome.CANNOT_TELL
    return Equivalence(margin_nm, t_above, p_above, t_below, p_below, interval, outcome)


def _ratio(value: float, se: float) -> float:
    if se:
        return value / se
    return math.copysign(math.inf, value) if value else 0.0
