"""Bounds on a share of all pieces without any bell curve: the extremes of the sample, or near them.

With n values in order, the r-th largest is an upper bound for the share p of all, with confidence
P(Binomial(n, 1 − p) ≥ r). Two-sided between smallest and largest: 1 − n·p^(n−1) + (n − 1)·p^n. Wilks 1941;
Somerville 1958; Meeker, Hahn and Escobar table J.11 (formulas from memory).
"""

import math

from scipy.special import bdtr

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals.normal import checked_share


def order_for_bound(n: int, *, coverage: float, confidence: float) -> int | None:
    """Which value counted from the extreme bounds the share: 1 the extreme itself; None: too few values.

    >>> [order_for_bound(n, coverage=0.95, confidence=0.95) for n in (58, 59, 93)]
    [None, 1, 2]
    """
    _check(n, 1, coverage, confidence)
    if not _enough(n, 1, coverage, confidence):
        return None
    enough, too_many = 1, n + 1
    while too_many - enough > 1:
        middle = (enough + too_many) // 2
        if _enough(n, middle, coverage, confidence):
            enough = middle
        else:
            too_many = middle
    return enough


def smallest_sample(*, coverage: float, confidence: float, order: int = 1, two_sided: bool = False) -> int:
    """How many values it takes until the ``order``-th from the extreme bounds the share.

    ``two_sided``: between the smallest and the largest (``order`` 1 alone).

    >>> smallest_sample(coverage=0.95, confidence=0.95)
    59
    >>> smallest_sample(coverage=0.95, confidence=0.95, two_sided=True)
    93
    """
    _check(2, order, coverage, confidence)
    if two_sided and order != 1:
        raise ImpossibleInput("order", order, "Between two bounds take the smallest and the largest: order 1")
    # Between the two extremes lies the share of what is left without any two gaps of n + 1.
    gaps = 2 if two_sided else order
    few, enough = gaps - 1, 2 * gaps
    while not _enough(enough, gaps, coverage, confidence):
        few, enough = enough, 2 * enough
    while enough - few > 1:
        middle = (few + enough) // 2
        if _enough(middle, gaps, coverage, confidence):
            enough = middle
        else:
            few = middle
    return enough


def _enough(n: int, order: int, coverage: float, confidence: float) -> bool:
    # A sureness of exactly the confidence, as with halves, must not fail by the last digit of a float.
    return _sureness(n, order, coverage) >= confidence * (1 - 1e-12)


def _sureness(n: int, order: int, coverage: float) -> float:
    """P(Binomial(n, 1 − coverage) ≥ order): that so many of n lie outside the share."""
    if order > n:
        return 0.0
    return 1 - float(bdtr(order - 1, n, 1 - coverage)) if order > 1 else -math.expm1(n * math.log(coverage))


def _check(n: int, order: int, coverage: float, confidence: float) -> None:
    if n < 1:
        raise ImpossibleInput("number of values", n, "Give at least one")
    if order < 1:
        raise ImpossibleInput("order", order, "Count from 1, the extreme itself")
    checked_share("coverage", coverage)
    checked_share("confidence", confidence)
