"""How far the next figure may lie from a baseline of few, and how long a run on one side may be.

Constants: moving ranges of two figures have d2 = 2/√π and d3 = √(2 − 4/π), exactly.
"""

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import fdtrc, ndtr, ndtri, stdtrit

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Interval, sample_of

D2_OF_TWO: Final = 2 / math.sqrt(math.pi)
D3_OF_TWO: Final = math.sqrt(2 - 4 / math.pi)
D4_OF_TWO: Final = 1 + 3 * D3_OF_TWO / D2_OF_TWO
_DIFFERS_AT: Final = 0.01


def natural_limits(mean_nm: float, mean_range_nm: float) -> Interval:
    """The textbook's limits of individuals: mean ± 3·(mean moving range)/d2 (nm).

    >>> natural_limits(0.0, 1.128379167).high
    2.9999999...
    """
    reach = 3 * mean_range_nm / D2_OF_TWO
    return Interval(mean_nm - reach, mean_nm + reach)


def prediction_factor(count: int, *, dof: int | None, false_alarm: float) -> float:
    """How many SDs from the mean of `count` figures the next one may lie: t·√(1 + 1/count).

    `dof` are those of the SD (count − 1 for the baseline's own), None for an SD known well.

    >>> round(prediction_factor(5, dof=4, false_alarm=0.0027), 2)
    7.25
    """
    tail = 1 - false_alarm / 2
    factor = ndtri(tail) if dof is None else stdtrit(dof, tail)
    return float(factor) * math.sqrt(1 + 1 / count)


@functools.cache
def run_that_signals(count: int, *, false_alarm: float) -> int:
    """The shortest run on one side of the mean of `count` figures rarer than `false_alarm`.

    With the mean known that is 2·(½)^n; with one from few figures, itself off to one side, runs are longer:
    the chance is 2·E[Φ(Z/√count)^n], Z standard normal.

    >>> run_that_signals(10**9, false_alarm=0.005), run_that_signals(10, false_alarm=0.005)
    (9, 13)
    """
    z, weight = np.polynomial.hermite_e.hermegauss(80)
    below = ndtr(z / math.sqrt(count))
    weight = weight / weight.sum()
    for length in range(1, 1000):
        if 2 * float(weight @ below**length) <= false_alarm:
            return length
    raise ImpossibleInput("chance of a false alarm", false_alarm, "Give a larger one, such as 0.01")


@dataclass(frozen=True, slots=True)
class KnownSpread:
    """SD (nm) of one sitting's figure as a study has it, and its degrees of freedom; None: known well."""

    sd_nm: float
    dof: int | None

    def __post_init__(self) -> None:
        if not 0 < self.sd_nm < math.inf:
            raise ImpossibleInput(
                "SD of the check garment", f"{self.sd_nm} nm", "Give one above zero, or none"
            )
        if self.dof is not None and self.dof < 1:
            raise ImpossibleInput("degrees of freedom", self.dof, "Give 1 or more, or none if known well")


@dataclass(frozen=True, slots=True)
class Expected:
    """What a baseline leads one to expect of the next figure (nm)."""

    mean_nm: float
    sd_nm: float
    dof: int | None
    limits: Interval


def expected(
    values_nm: Sequence[int], known: KnownSpread | None, division_nm: int, false_alarm: float
) -> Expected:
    """Where the next figure lies but for a chance of `false_alarm`, from the baseline and a study, if any."""
    sample = sample_of(values_nm)
    sd_nm, dof = _spread(sample.sd, sample.n, known=known, division_nm=division_nm)
    reach = prediction_factor(sample.n, dof=dof, false_alarm=false_alarm) * sd_nm
    return Expected(sample.mean, sd_nm, dof, Interval(sample.mean - reach, sample.mean + reach))


def _spread(
    own_nm: float, count: int, *, known: KnownSpread | None, division_nm: int
) -> tuple[float, int | None]:
    """The SD of one figure (nm) and its degrees of freedom, from the baseline and the study."""
    least_nm = division_nm / math.sqrt(12)
    sd_nm, dof = own_nm, count - 1
    if known is None or _plainly_more(own_nm, dof, known):
        return max(sd_nm, least_nm), dof
    if known.dof is None:
        return max(known.sd_nm, least_nm), None
    together = known.dof + dof
    pooled = math.sqrt((known.dof * known.sd_nm**2 + dof * own_nm**2) / together)
    return max(pooled, least_nm), together


def _plainly_more(own_nm: float, dof: int, known: KnownSpread) -> bool:
    # An SD known well is one with very many degrees of freedom.
    return float(fdtrc(dof, known.dof or 10**7, (own_nm / known.sd_nm) ** 2)) < _DIFFERS_AT
