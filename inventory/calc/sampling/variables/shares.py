"""The share beyond a limit, estimated from its distance in spreads; and the plan that sets a bound on it.

The estimates are the unbiased ones of smallest variance for a normal spread (Lieberman and Resnikoff 1955):
a symmetric beta function when the spread is the sample's own, the normal tail with a correction when known.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import betainc, betaincinv, ndtr, ndtri

from inventory.calc.errors import ImpossibleInput


class Spread(StrEnum):
    """Where the spread comes from."""

    SAMPLE = "s"
    KNOWN = "sigma"

    @property
    def fewest(self) -> int:
        """The smallest sample for which a share can be estimated."""
        return 3 if self is Spread.SAMPLE else 2


@dataclass(frozen=True, slots=True)
class VariablesPlan:
    """Readings to take, the least distance of the mean in spreads (k), the greatest estimated share (M)."""

    n: int
    k: float
    m: float
    spread: Spread = Spread.SAMPLE

    def __post_init__(self) -> None:
        if self.n < self.spread.fewest:
            raise ImpossibleInput("number of readings", self.n, f"Give at least {self.spread.fewest}")
        if not math.isfinite(self.k):
            raise ImpossibleInput("acceptance constant k", f"{self.k:g}", "Give a number such as 1.5")
        if not 0 <= self.m <= 1:
            raise ImpossibleInput("greatest share M", f"{self.m:g}", "Give a share from 0 to 1")


def share_beyond(q: float, *, n: int, spread: Spread = Spread.SAMPLE) -> float:
    """Estimated share beyond a limit that the mean of ``n`` readings lies ``q`` spreads inside of.

    >>> round(share_beyond(2.0, n=42), 10)
    0.020695626
    """
    _enough(n, spread)
    if spread is Spread.KNOWN:
        return float(ndtr(-q * math.sqrt(n / (n - 1))))
    if math.isinf(q):
        return 0.0 if q > 0 else 1.0
    at = 0.5 - q * math.sqrt(n) / (2 * (n - 1))
    half = n / 2 - 1
    return float(betainc(half, half, min(max(at, 0.0), 1.0)))


def m_from_k(k: float, *, n: int, spread: Spread = Spread.SAMPLE) -> float:
    """The share M at which form M decides as form k does, for one limit.

    >>> round(m_from_k(1.905285, n=42), 10)
    0.0263045512
    """
    return share_beyond(k, n=n, spread=spread)


def k_from_m(m: float, *, n: int, spread: Spread = Spread.SAMPLE) -> float:
    """The k at which form k decides as form M does, for one limit.

    >>> round(k_from_m(0.0332, n=5), 2)
    1.53
    """
    _enough(n, spread)
    if not 0 < m < 1:
        raise ImpossibleInput("greatest share M", f"{m:g}", "Give a share between 0 and 1")
    if spread is Spread.KNOWN:
        return -float(ndtri(m)) * math.sqrt((n - 1) / n)
    half = n / 2 - 1
    return (0.5 - float(betaincinv(half, half, m))) * 2 * (n - 1) / math.sqrt(n)


def _enough(n: int, spread: Spread) -> None:
    if n < spread.fewest:
        raise ImpossibleInput("number of readings", n, f"Give at least {spread.fewest}")
