"""Whether readings are spread like a bell, which sampling by variables rests on.

Anderson and Darling's statistic with mean and spread from the sample, its probability by D'Agostino and
Stephens (1986). Readings to the marks of a tape come in heaps of equal figures, which that test takes for a
fault; so equal readings are first spread evenly over their division. With a spread of at least 0.7 divisions
it then cries wolf no more often than it should (checked by simulation, and in the tests).

That nothing speaks against a bell is no proof of one: few readings show only gross departures.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr

from inventory.calc.errors import ImpossibleInput

FEWEST = 8
"""Fewer readings say nothing on their shape."""

FINEST = 0.7
"""Spread, in divisions, below which the marks of the tape hide the shape."""

DOUBT = 0.01
"""Probability below which the readings are said not to be spread like a bell."""


@dataclass(frozen=True, slots=True)
class BellCheck:
    """Anderson-Darling statistic (for its sample size), probability; yes, no or cannot tell (``None``)."""

    statistic: float | None
    probability: float | None
    bell: bool | None
    words: str


def bell_check(readings_nm: Sequence[int], *, division_nm: int = 0) -> BellCheck:
    """Check the shape of readings (nm) of one point, taken to ``division_nm`` (0 when as good as continuous).

    >>> bell_check([1, 2, 3]).words
    'Only 3 readings: too few to see how they are spread. Sampling by variables supposes a bell shape.'
    """
    if division_nm < 0:
        raise ImpossibleInput("division", f"{division_nm} nm", "Give zero or more")
    n = len(readings_nm)
    if n < FEWEST:
        return _cannot_tell(f"Only {n} readings: too few to see how they are spread.")
    values = _spread_over_divisions(readings_nm, division_nm)
    spread = float(values.std(ddof=1))
    measured = float(np.std(np.asarray(readings_nm, dtype=np.float64), ddof=1))
    if measured == 0 or measured < FINEST * division_nm:
        return _cannot_tell(
            "The readings differ by hardly more than a mark of the tape: their shape is hidden."
        )
    z = (values - values.mean()) / spread
    odd = 2 * np.arange(1, n + 1) - 1
    raw = -n - float((odd * (log_ndtr(z) + log_ndtr(-z[::-1]))).sum()) / n
    statistic = raw * (1 + 0.75 / n + 2.25 / n**2)
    probability = _probability(statistic)
    if probability < DOUBT:
        return BellCheck(
            statistic,
            probability,
            bell=False,
            words=f"The readings are not spread like a bell (Anderson-Darling, p = {probability:.2g}): "
            "count pieces out of tolerance instead.",
        )
    return BellCheck(
        statistic,
        probability,
        bell=True,
        words=f"Nothing speaks against a bell shape (Anderson-Darling, p = {probability:.2g}, {n} readings).",
    )


def _cannot_tell(reason: str) -> BellCheck:
    return BellCheck(None, None, None, f"{reason} Sampling by variables supposes a bell shape.")


def _spread_over_divisions(
    readings_nm: Sequence[int], division_nm: int
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Readings in order, equal ones spread evenly over the division they were rounded to."""
    spread = [
        value + division_nm * ((place + 0.5) / times - 0.5)
        for value, times in sorted(Counter(readings_nm).items())
        for place in range(times)
    ]
    return np.sort(np.array(spread, dtype=np.float64))


def _probability(statistic: float) -> float:
    """D'Agostino and Stephens (1986), Table 4.9: chance of a statistic this large from a bell."""
    a = statistic
    if a < 0.2:
        return 1 - math.exp(-13.436 + 101.14 * a - 223.73 * a * a)
    if a < 0.34:
        return 1 - math.exp(-8.318 + 42.796 * a - 59.938 * a * a)
    if a < 0.6:
        return math.exp(0.9177 - 4.279 * a - 1.38 * a * a)
    if a <= 13:
        return math.exp(1.2937 - 5.709 * a + 0.0186 * a * a)
    return 0.0
