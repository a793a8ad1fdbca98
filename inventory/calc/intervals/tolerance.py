"""Lengths between which a stated share of all pieces lies, with a stated confidence (bell curve).

One-sided: mean + k·s with k = t'(confidence; n − 1, √n·z) / √n, the non-central t. Two-sided and exact: k
such that over all places the sample mean may lie, the SD is large enough often enough,
E[ P(χ²_ν > ν·r(z)²/k²) ] = confidence with Φ(z/√n + r) − Φ(z/√n − r) = coverage (ISO 16269-6:2014 annex;
Odeh and Owen 1980; from memory). The usual table value by Howe's formula is not exact and not used here.

The expectation is a Gauss-Legendre sum over 96 places, both roots are found by bracketing. ISO 16269-6
prints its factors rounded *up* at the fourth decimal: compare with ``rounded_up``.
"""

import math
from collections.abc import Callable
from decimal import ROUND_CEILING, Decimal

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import gammaincc, nctdtr, ndtr, ndtri

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals.normal import Interval, Sample, checked_share

Floats = npt.NDArray[np.float64]

_FAR = 8.5
"""Standard deviations past which a bell curve holds less than 1e-16."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)
_PLACES: Floats = (_NODES + 1) * _FAR / 2
# Twice, for the half of the places that lie below the mean.
_SHARES: Floats = _WEIGHTS * _FAR * np.exp(-(_PLACES**2) / 2) / math.sqrt(2 * math.pi)


def one_sided_factor(n: int, *, coverage: float, confidence: float) -> float:
    """k such that at least ``coverage`` of all lies below mean + k·s with ``confidence``.

    >>> round(one_sided_factor(43, coverage=0.90, confidence=0.99), 4)
    1.874
    """
    _check(n, coverage, confidence)
    shift = math.sqrt(n) * float(ndtri(coverage))
    found = _root(lambda t: float(nctdtr(n - 1, shift, t)) - confidence, shift - 1, shift + 1)
    return found / math.sqrt(n)


def two_sided_factor(n: int, *, coverage: float, confidence: float, samples: int = 1) -> float:
    """k such that at least ``coverage`` of all lies within mean ± k·s with ``confidence``, exactly.

    ``samples`` of n values each that share one SD, pooled, but have a mean each (ISO 16269-6 annex F).

    >>> round(two_sided_factor(43, coverage=0.90, confidence=0.99), 4)
    2.2228
    """
    _check(n, coverage, confidence)
    if samples < 1:
        raise ImpossibleInput("number of samples", samples, "Give at least one")
    nu = samples * (n - 1)
    reach = _reach(_PLACES / math.sqrt(n), coverage)

    def missing(k: float) -> float:
        return float(_SHARES @ gammaincc(nu / 2, nu * (reach / k) ** 2 / 2)) - confidence

    # A factor of nothing holds nothing: the root is never below.
    return _root(missing, 1e-9, float(ndtri((1 + coverage) / 2)))


def _reach(offset: Floats, coverage: float) -> Floats:
    """How far to either side of a mean that is off by ``offset`` SDs the coverage is reached."""
    reach = offset + float(ndtri(coverage))
    low, high = np.maximum(0.0, reach), offset + float(ndtri((1 + coverage) / 2))
    # Newton, kept within the bracket: near the middle it converges at once, far off the halving does.
    reach = (low + high) / 2
    for _ in range(60):
        short = ndtr(offset + reach) - ndtr(offset - reach) - coverage
        low, high = np.where(short < 0, reach, low), np.where(short < 0, high, reach)
        slope = (np.exp(-((offset + reach) ** 2) / 2) + np.exp(-((offset - reach) ** 2) / 2)) / math.sqrt(
            2 * math.pi
        )
        step = reach - short / slope
        after = np.where((step > low) & (step < high), step, (low + high) / 2)
        if np.max(np.abs(after - reach)) < 1e-14 * np.max(reach):
            return after
        reach = after
    return reach


def tolerance_interval(sample: Sample, *, coverage: float, confidence: float) -> Interval:
    """Between which values at least ``coverage`` of all lies, with ``confidence``.

    >>> from inventory.calc.intervals import sample_of
    >>> voltages = sample_of([51.4, 49.5, 48.7, 49.3, 51.6])
    >>> found = tolerance_interval(voltages, coverage=0.99, confidence=0.95)
    >>> round(found.low, 1), round(found.high, 1)
    (41.4, 58.8)
    """
    half = two_sided_factor(sample.n, coverage=coverage, confidence=confidence) * sample.sd
    return Interval(sample.mean - half, sample.mean + half)


def tolerance_bound(sample: Sample, *, coverage: float, confidence: float, upper: bool) -> Interval:
    """The value that at least ``coverage`` of all stays below (``upper``) or above, with ``confidence``."""
    step = one_sided_factor(sample.n, coverage=coverage, confidence=confidence) * sample.sd
    if upper:
        return Interval(-math.inf, sample.mean + step)
    return Interval(sample.mean - step, math.inf)


def rounded_up(factor: float, *, decimals: int = 4) -> Decimal:
    """A factor as ISO 16269-6 prints it: rounded up, so that the printed one is never too small.

    >>> rounded_up(15.51232598), rounded_up(6.07548428)
    (Decimal('15.5124'), Decimal('6.0755'))
    """
    return Decimal(factor).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_CEILING)


def _root(of: Callable[[float], float], low: float, high: float) -> float:
    """The root of a rising function; ``low`` and ``high`` are moved apart until they hold it."""
    step = max(high - low, 1.0)
    while of(high) < 0:
        low, high, step = high, high + step, 2 * step
    step = 1.0
    while of(low) > 0:
        low, high, step = low - step, low, 2 * step
    return float(brentq(of, low, high, xtol=1e-13, rtol=1e-14))


def _check(n: int, coverage: float, confidence: float) -> None:
    if n < 2:
        raise ImpossibleInput("number of values", n, "Two are the least that show a spread")
    checked_share("coverage", coverage)
    checked_share("confidence", confidence)
