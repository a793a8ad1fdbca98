"""How far apart two single figures will be: limits of agreement; repeats (Bland and Altman 1986, 1999)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scipy.special import stdtrit

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Interval, Sample, mean_interval, sample_of
from inventory.calc.pairs.comparing import differences_nm

TWO_SIDED_95: Final = 1.96


@dataclass(frozen=True, slots=True)
class Agreement:
    """Bias and SD of the differences (nm), the limits bias ± k·SD, and how well each is known.

    `bias_interval`, `low_interval` and `high_interval` are confidence intervals (nm) of the bias and of the
    lower and upper limit.
    """

    pairs: int
    bias_nm: float
    sd_nm: float
    se_bias_nm: float
    se_limit_nm: float
    limits: Interval
    bias_interval: Interval
    low_interval: Interval
    high_interval: Interval


@dataclass(frozen=True, slots=True)
class Repeats:
    """Two repeats of each piece by the same hands: their mean difference and their spread (nm).

    `about_zero_nm` is √(mean d²): the second is not expected to differ, so the differences are taken about
    zero. Twice that is the `coefficient_nm`: 19 of 20 pairs of repeats are nearer than that. `within_nm`, the
    SD of one reading, is √(Σd²/2n), the technical error of measurement.
    """

    mean_nm: float
    about_zero_nm: float
    coefficient_nm: float
    within_nm: float


def agreement(
    first_nm: Sequence[int], second_nm: Sequence[int], *, k: float = TWO_SIDED_95, confidence: float = 0.95
) -> Agreement:
    """Limits of agreement of pairs: 95 % of differences lie about between them.

    >>> found = agreement([332, 330, 334, 332], [330, 330, 330, 330], k=2)
    >>> round(found.limits.low, 2), round(found.limits.high, 2)
    (-1.27, 5.27)
    """
    return agreement_of(sample_of(differences_nm(first_nm, second_nm)), k=k, confidence=confidence)


def agreement_of(differences: Sample, *, k: float = TWO_SIDED_95, confidence: float = 0.95) -> Agreement:
    """The same from count, mean and SD of the differences (nm).

    The standard error of a limit is √(3·s²/n), which holds for k near 2 (Bland and Altman 1986). Raises
    ImpossibleInput for a k not above zero and a confidence not between 0 and 1.
    """
    if not 0 < k < math.inf:
        raise ImpossibleInput("number of SDs", k, "Give one above zero, such as 1.96")
    bias_interval = mean_interval(differences, confidence=confidence)
    se_limit = math.sqrt(3 / differences.n) * differences.sd
    reach = float(stdtrit(differences.n - 1, (1 + confidence) / 2)) * se_limit
    low, high = differences.mean - k * differences.sd, differences.mean + k * differences.sd
    return Agreement(
        pairs=differences.n,
        bias_nm=differences.mean,
        sd_nm=differences.sd,
        se_bias_nm=differences.sd / math.sqrt(differences.n),
        se_limit_nm=se_limit,
        limits=Interval(low, high),
        bias_interval=bias_interval,
        low_interval=Interval(low - reach, low + reach),
        high_interval=Interval(high - reach, high + reach),
    )


def repeats(first_nm: Sequence[int], second_nm: Sequence[int]) -> Repeats:
    """The spread of two repeats of each piece.

    >>> repeats([332, 330], [330, 332])
    Repeats(mean_nm=0.0, about_zero_nm=2.0, coefficient_nm=4.0, within_nm=1.4142135623730951)
    """
    differences = differences_nm(first_nm, second_nm)
    mean_square = math.fsum(d * d for d in differences) / len(differences)
    return Repeats(
        mean_nm=math.fsum(differences) / len(differences),
        about_zero_nm=math.sqrt(mean_square),
        coefficient_nm=2 * math.sqrt(mean_square),
        within_nm=math.sqrt(mean_square / 2),
    )
