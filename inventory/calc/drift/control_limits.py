"""How far the next figure may lie from a baseline of few, and how long a run on one side may be.

Constants: moving ranges of two figures have d2 = 2/√π and d3 = √(2 − 4/π), exactly.
"""

import functools
import math
from typing import Final

import numpy as np
from scipy.special import ndtr, ndtri, stdtrit

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Interval

D2_OF_TWO: Final = 2 / math.sqrt(math.pi)
D3_OF_TWO: Final = math.sqrt(2 - 4 / math.pi)
D4_OF_TWO: Final = 1 + 3 * D3_OF_TWO / D2_OF_TWO


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
