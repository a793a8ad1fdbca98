"""Mean, SD and the next value of a bell curve known by a sample alone.

Student's t for mean and prediction, chi-square for the SD: Hahn and Meeker, Statistical Intervals, ch. 3
and 4; NIST e-Handbook 1.3.5.2 (from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import chdtri, stdtrit

from inventory.calc.errors import ImpossibleInput


@dataclass(frozen=True, slots=True)
class Sample:
    """How many values, their mean, and their SD with n − 1 (both in the unit of the values)."""

    n: int
    mean: float
    sd: float

    def __post_init__(self) -> None:
        if self.n < 2:
            raise ImpossibleInput("number of values", self.n, "Two are the least that show a spread")
        if not (math.isfinite(self.mean) and 0 <= self.sd < math.inf):
            raise ImpossibleInput("mean and SD", f"{self.mean} and {self.sd}", "Give finite numbers")


@dataclass(frozen=True, slots=True)
class Interval:
    """From low to high, both included; one of them is infinite where only one side is bounded."""

    low: float
    high: float


def sample_of(values: Sequence[float]) -> Sample:
    """Count, mean and SD of the values; refuses less than two and anything that is not a finite number.

    >>> sample_of([51.4, 49.5, 48.7, 49.3, 51.6]).mean
    50.1
    """
    for value in values:
        if not math.isfinite(value):
            raise ImpossibleInput("value", value, "Give finite numbers")
    n = len(values)
    if n < 2:
        raise ImpossibleInput("number of values", n, "Two are the least that show a spread")
    mean = math.fsum(values) / n
    return Sample(n, mean, math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n - 1)))


def mean_interval(sample: Sample, *, confidence: float = 0.95) -> Interval:
    """Where the mean of all lies: mean ± t·s/√n.

    >>> found = mean_interval(sample_of([51.4, 49.5, 48.7, 49.3, 51.6]))
    >>> round(found.low, 2), round(found.high, 2)
    (48.47, 51.73)
    """
    return _around(sample, confidence, math.sqrt(1 / sample.n))


def prediction_interval(sample: Sample, *, confidence: float = 0.95, mean_of: int = 1) -> Interval:
    """Where the next value lies, or the mean of the next ``mean_of`` values: mean ± t·s·√(1/m + 1/n).

    >>> found = prediction_interval(sample_of([51.4, 49.5, 48.7, 49.3, 51.6]))
    >>> round(found.low, 1), round(found.high, 1)
    (46.1, 54.1)
    """
    if mean_of < 1:
        raise ImpossibleInput("number of values to come", mean_of, "Give at least one")
    return _around(sample, confidence, math.sqrt(1 / mean_of + 1 / sample.n))


def sd_interval(sample: Sample, *, confidence: float = 0.95) -> Interval:
    """Where the SD of all lies: s·√(ν/χ²), equal tails.

    >>> found = sd_interval(sample_of([51.4, 49.5, 48.7, 49.3, 51.6]))
    >>> round(found.low, 2), round(found.high, 2)
    (0.79, 3.77)
    """
    tail = (1 - checked_share("confidence", confidence)) / 2
    nu = sample.n - 1
    # chdtri takes the upper tail.
    return Interval(*(sample.sd * math.sqrt(nu / float(chdtri(nu, p))) for p in (tail, 1 - tail)))


def _around(sample: Sample, confidence: float, factor: float) -> Interval:
    half = (
        float(stdtrit(sample.n - 1, (1 + checked_share("confidence", confidence)) / 2)) * sample.sd * factor
    )
    return Interval(sample.mean - half, sample.mean + half)


def checked_share(thing: str, share: float) -> float:
    """The share itself if it lies strictly between 0 and 1; else it is refused under the name given."""
    if not 0 < share < 1:
        raise ImpossibleInput(thing, share, "Give a share above 0 and below 1, such as 0.95")
    return share
