"""The smallest single plan that keeps both promises: good batches pass, poor ones do not.

The maker is promised that a batch with at most a share p1 of bad pieces passes with at least 1 − alpha; the
shop that one with at least p2 passes with at most beta. For each acceptance number the smallest sample that
keeps the second promise is found; the first acceptance number for which it keeps the first one too gives the
smallest plan, since samples grow with the acceptance number.

For a real batch the shares become whole bad pieces, p1 rounded down and p2 rounded up (the plan must hold for
the batches that exist), and the chances are hypergeometric; inspecting everything always works. For a long
series they are binomial.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import SinglePlan
from inventory.calc.sampling.curves import check_risk
from inventory.calc.sampling.curves.course import hypergeometric, tail
from inventory.calc.sampling.seeking import first_near

LARGEST_SAMPLE = 20_000
"""Beyond this a plan for a series is of no use to anyone; the wishes are too close together."""

ROUNDING = 1e-9
"""0.07 of 100 pieces is 7, whatever binary fractions make of it."""


@dataclass(frozen=True, slots=True)
class RiskPlan:
    """A plan made by risk: the chances it really gives, and the whole bad pieces meant for a batch."""

    plan: SinglePlan
    good_passes: float
    poor_passes: float
    good_bad: int | None
    poor_bad: int | None

    @property
    def words(self) -> str:
        """What it promises, in one sentence with the chances reached."""
        good, poor = f"{100 * self.good_passes:.1f} %", f"{100 * self.poor_passes:.1f} %"
        return f"{self.plan}: good batches pass {good} of the time, poor ones {poor}."


def plan_by_risk(
    good: float, producer_risk: float, poor: float, consumer_risk: float, *, batch_size: int | None = None
) -> RiskPlan:
    """The smallest plan for shares ``good`` (p1) and ``poor`` (p2) and their risks alpha and beta.

    ``batch_size`` in pieces for the real batch, None for a long series. Raises ImpossibleInput when the
    shares are not apart, leave no bad piece between them in this batch, or need a sample beyond all use.

    >>> print(plan_by_risk(0.01, 0.05, 0.06, 0.10).plan)
    110 pieces, accept with 3, refuse with 4
    >>> print(plan_by_risk(0.01, 0.05, 0.06, 0.10, batch_size=120).plan)
    48 pieces, accept with 1, refuse with 2
    """
    _check(good, producer_risk, poor, consumer_risk)
    if batch_size is None:
        return _smallest(
            partial(_series_passes, good),
            partial(_series_passes, poor),
            (producer_risk, consumer_risk),
            LARGEST_SAMPLE,
        )
    good_bad, poor_bad = _whole(good, poor, batch_size)
    found = _smallest(
        partial(_batch_passes, batch_size, good_bad),
        partial(_batch_passes, batch_size, poor_bad),
        (producer_risk, consumer_risk),
        batch_size,
    )
    return RiskPlan(found.plan, found.good_passes, found.poor_passes, good_bad, poor_bad)


Passes = Callable[[int, int], float]
"""Chance of passing by sample size and acceptance number; falls with the size."""


def _smallest(good: Passes, poor: Passes, risks: tuple[float, float], largest: int) -> RiskPlan:
    producer_risk, consumer_risk = risks
    size = 1
    for accept in range(largest):
        size = first_near(partial(_keeps, poor, accept, consumer_risk), at_least=size, below=largest + 1)
        if size > largest:
            break
        good_passes = good(size, accept)
        if good_passes >= 1.0 - producer_risk:
            return RiskPlan(SinglePlan(size, accept, accept + 1), good_passes, poor(size, accept), None, None)
    raise ImpossibleInput(
        "plan for these risks",
        f"larger than {largest} pieces",
        "Move the good and the poor share further apart, or allow larger risks",
    )


def _keeps(passes: Passes, accept: int, risk: float, size: int) -> bool:
    return passes(size, accept) <= risk


def _series_passes(share: float, size: int, accept: int) -> float:
    return float(tail(size, np.array([share]), accept, counts_defects=False)[0])


def _batch_passes(batch_size: int, bad: int, size: int, accept: int) -> float:
    return float(hypergeometric(batch_size, np.array([bad]), size)[0, : accept + 1].sum())


def _whole(good: float, poor: float, batch_size: int) -> tuple[int, int]:
    if batch_size < 1:
        raise ImpossibleInput("batch size", batch_size, "Give at least 1 piece")
    good_bad = math.floor(good * batch_size + ROUNDING)
    poor_bad = math.ceil(poor * batch_size - ROUNDING)
    if good_bad >= poor_bad:
        raise ImpossibleInput(
            "poor share",
            f"{poor}, which is no more bad pieces than the good share in a batch of {batch_size}",
            "Move them further apart",
        )
    return good_bad, poor_bad


def _check(good: float, producer_risk: float, poor: float, consumer_risk: float) -> None:
    check_risk("producer's risk", producer_risk)
    check_risk("consumer's risk", consumer_risk)
    if not 0.0 <= good < 1.0:
        raise ImpossibleInput("good share", good, "Give a share from 0 to below 1, such as 0.01")
    if not good < poor <= 1.0:
        raise ImpossibleInput(
            "poor share", f"{poor}, with a good share of {good}", "Give a share above the good one, at most 1"
        )
    if producer_risk + consumer_risk >= 1.0:
        raise ImpossibleInput(
            "risks",
            f"{producer_risk} and {consumer_risk}",
            "Together they must stay below 1; 0.05 and 0.10 are usual",
        )
