"""How often a plan accepts, by the share that is out; and the smallest plan for two stated risks.

For one limit. With the sample's own spread the chance is exact by the noncentral t distribution, with a known
spread by the normal. Two limits that both cut off a share give nearly the same curve over the whole share, to
about 0.01 (by simulation, in the tests).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import nctdtr, nctdtrit, ndtr, ndtri

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.seeking import first_near
from inventory.calc.sampling.variables.shares import Spread, VariablesPlan, m_from_k

MOST_READINGS = 5_000
"""A plan that needs more is no plan for a shop: the two qualities lie too near each other."""


@dataclass(frozen=True, slots=True)
class Risks:
    """A share that should pass, the risk of refusing it; one that should not, the risk of accepting it."""

    p1: float
    alpha: float
    p2: float
    beta: float

    def __post_init__(self) -> None:
        for thing, share in (
            ("share that should pass (p1)", self.p1),
            ("risk of refusing it (alpha)", self.alpha),
            ("share that should not pass (p2)", self.p2),
            ("risk of accepting it (beta)", self.beta),
        ):
            if not 0 < share < 1:
                raise ImpossibleInput(thing, f"{share:g}", "Give a share between 0 and 1, such as 0.05")
        if self.p1 >= self.p2:
            raise ImpossibleInput(
                "share that should pass (p1)",
                f"{self.p1:g}, not below the share that should not ({self.p2:g})",
                "Give the smaller share first",
            )
        if self.alpha + self.beta >= 1:
            raise ImpossibleInput(
                "sum of the two risks",
                f"{self.alpha + self.beta:g}, which needs no sample at all",
                "Give smaller risks",
            )


def curve(plan: VariablesPlan, shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Chance of acceptance for each share out of tolerance (0 to 1), same shape."""
    if not bool(((shares >= 0) & (shares <= 1)).all()):
        raise ImpossibleInput("share out of tolerance", "outside 0 to 1", "Give shares from 0 to 1")
    inside = np.clip(shares, 1e-300, 1 - 1e-16)
    root = math.sqrt(plan.n)
    if plan.spread is Spread.KNOWN:
        chances = ndtr(root * (-ndtri(inside) - plan.k))
    else:
        # The lower tail of the mirrored distribution: no difference of near-equal figures. Within some 1e-14
        # of never or always the library gives up (not a number), so there it is never or always.
        chances = nctdtr(plan.n - 1, root * ndtri(inside), -root * plan.k)
        chances = np.where(np.isnan(chances), np.where(-ndtri(inside) > plan.k, 1.0, 0.0), chances)
    return np.where(shares <= 0, 1.0, np.where(shares >= 1, 0.0, chances))


def acceptance(plan: VariablesPlan, share: float) -> float:
    """Chance that a batch with this share out of tolerance is accepted.

    >>> round(acceptance(VariablesPlan(35, 1.89, m_from_k(1.89, n=35)), 0.05), 7)
    0.2089206
    """
    return float(curve(plan, np.array([share]))[0])


def plan_by_risk(risks: Risks, *, spread: Spread = Spread.SAMPLE) -> VariablesPlan:
    """The smallest plan that keeps both risks, exactly; its k is the middle of those that do.

    Raises `ImpossibleInput` when no plan of up to 5,000 readings keeps both.

    >>> plan = plan_by_risk(Risks(p1=0.01, alpha=0.05, p2=0.06, beta=0.10))
    >>> plan.n, round(plan.k, 2)
    (42, 1.9)
    """
    n = first_near(
        lambda readings: _kept(readings, risks, spread), at_least=spread.fewest, below=MOST_READINGS + 1
    )
    if n > MOST_READINGS:
        raise ImpossibleInput(
            "pair of shares",
            f"{risks.p1:g} and {risks.p2:g}, too near each other for {MOST_READINGS:,} readings",
            "Give shares further apart, or higher risks",
        )
    least, most = k_range(n, risks, spread=spread)
    k = (least + most) / 2
    return VariablesPlan(n, k, m_from_k(k, n=n, spread=spread), spread)


def k_range(n: int, risks: Risks, *, spread: Spread = Spread.SAMPLE) -> tuple[float, float]:
    """The least k that keeps the risk of accepting ``p2``, the most that keeps the risk of refusing ``p1``.

    With the least above the most, ``n`` readings are too few for both.
    """
    root = math.sqrt(n)
    z1, z2 = -float(ndtri(risks.p1)), -float(ndtri(risks.p2))
    if spread is Spread.KNOWN:
        return z2 - float(ndtri(risks.beta)) / root, z1 + float(ndtri(risks.alpha)) / root
    least = -float(nctdtrit(n - 1, -root * z2, risks.beta)) / root
    most = float(nctdtrit(n - 1, root * z1, risks.alpha)) / root
    return least, most


def _kept(n: int, risks: Risks, spread: Spread) -> bool:
    least, most = k_range(n, risks, spread=spread)
    return least <= most
