"""What the range of a few readings says of their SD: d2 and d3, computed, and d2* of a few ranges.

Tippett (1925): the mean of the range of n bell-curve values of SD 1 is d2, its SD is d3. An average of g
ranges is divided by d2* = √(d2² + d3²/g) to give an SD of the right mean *square* (Duncan; from memory).
"""

import functools
import math
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from inventory.calc.errors import ImpossibleInput

_MOST: Final = 200
_NODES: Final = 128

_Floats = npt.NDArray[np.float64]


@functools.cache
def d2(values: int) -> float:
    """Mean range of `values` bell-curve values of SD 1, to ten digits; 2/√π for two.

    >>> round(d2(2), 6), round(d2(10), 6)
    (1.128379, 3.077505)
    """
    _check(values)
    x, weight = _nodes(-9.0, 9.0)
    below = ndtr(x)
    return float(np.sum(weight * (1 - below**values - ndtr(-x) ** values)))


@functools.cache
def d3(values: int) -> float:
    """SD of the range of `values` bell-curve values of SD 1, to eight digits; √(2 − 4/π) for two.

    >>> round(d3(2), 6), round(d3(10), 6)
    (0.852502, 0.797051)
    """
    _check(values)
    # E(range²) = 2 ∫∫ over low < high of P(lowest value below low, highest above high).
    low, low_weight = _nodes(-9.0, 9.0)
    gap, gap_weight = _nodes(0.0, 18.0)
    start, end = ndtr(low)[:, None], ndtr(low[:, None] + gap[None, :])
    chance = 1 - end**values - (1 - start) ** values + (end - start) ** values
    square = 2 * float(low_weight @ chance @ gap_weight)
    return math.sqrt(square - d2(values) ** 2)


def d2_star(values: int, *, ranges: int) -> float:
    """d2* for an average of `ranges` ranges of `values` values each.

    >>> round(d2_star(2, ranges=1), 5)
    1.41421
    """
    if ranges < 1:
        raise ImpossibleInput("number of ranges", ranges, "Give at least one")
    return math.hypot(d2(values), d3(values) / math.sqrt(ranges))


@functools.cache
def _nodes(low: float, high: float) -> tuple[_Floats, _Floats]:
    x, weight = np.polynomial.legendre.leggauss(_NODES)
    half = (high - low) / 2
    return low + half * (x + 1), weight * half


def _check(values: int) -> None:
    if not 2 <= values <= _MOST:
        raise ImpossibleInput("number of values in a range", values, f"Give 2 to {_MOST}")
