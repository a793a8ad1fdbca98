"""Searches along the operating curve: risk points, the quality of a given chance, the worst outgoing one."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, minimize_scalar

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import Plan
from inventory.calc.sampling.curves.points import (
    ALL_AT_ONCE,
    CurvePoint,
    Model,
    batch_points,
    counts_defects_of,
    series_points,
)
from inventory.calc.sampling.seeking import first_that

PRODUCER_RISK, CONSUMER_RISK = 0.05, 0.10
"""The customary risks: a good batch refused, a bad batch accepted."""


@dataclass(frozen=True, slots=True)
class RiskPoints:
    """Where a plan's risks lie for one batch size, as whole numbers of bad pieces.

    ``good``: the most bad pieces that still pass with at least 1 − producer's risk. ``poor``: the fewest that
    pass with at most the consumer's risk; None if even an all-bad batch passes more often. The chances
    reached are beside them.
    """

    good: CurvePoint
    poor: CurvePoint | None


def risk_points(
    plan: Plan, *, batch_size: int, producer_risk: float = PRODUCER_RISK, consumer_risk: float = CONSUMER_RISK
) -> RiskPoints:
    """Which batches pass nearly always and which hardly ever, in whole bad pieces of the real batch.

    >>> from inventory.calc.sampling.attributes import SinglePlan
    >>> points = risk_points(SinglePlan(20, 1, 2), batch_size=60)
    >>> points.good.bad, points.poor.bad
    (1, 10)
    """
    check_risk("producer's risk", producer_risk)
    check_risk("consumer's risk", consumer_risk)

    def point(bad: int) -> CurvePoint:
        return batch_points(plan, batch_size=batch_size, bad=[bad])[0]

    good = (
        first_that(lambda bad: point(bad).passing < 1.0 - producer_risk, at_least=0, below=batch_size + 1) - 1
    )
    poor = first_that(lambda bad: point(bad).passing <= consumer_risk, at_least=0, below=batch_size + 1)
    return RiskPoints(point(good), point(poor) if poor <= batch_size else None)


def quality_at(plan: Plan, passing: float, *, model: Model = Model.SERIES) -> float:
    """The share of bad pieces (Poisson: defects per piece) that a series passes with just this chance.

    Raises ImpossibleInput for a chance not between 0 and 1, or one the plan never comes down to.

    >>> from inventory.calc.sampling.attributes import SinglePlan
    >>> round(quality_at(SinglePlan(80, 0, 1), 0.10), 4)
    0.0284
    """
    check_risk("chance of passing", passing)

    def above(share: float) -> float:
        return series_points(plan, [share], model=model)[0].passing - passing

    high = 1.0
    while above(high) > 0.0:
        if not counts_defects_of(model):
            raise ImpossibleInput(
                "chance of passing", passing, "This plan passes every batch more often than that"
            )
        high *= 2.0
    return float(brentq(above, 0.0, high, xtol=1e-15, rtol=1e-14))


def worst_outgoing(plan: Plan, *, batch_size: int | None = None, model: Model = Model.BATCH) -> CurvePoint:
    """The quality at which most bad pieces leave, refused batches inspected whole (AOQL is its ``outgoing``).

    For the batch model a ``batch_size`` is needed and the worst whole number is sought; for a series the
    worst share. Raises ImpossibleInput without a batch size where one is needed.
    """
    if model is not Model.BATCH:
        return _worst_of_series(plan, batch_size, model)
    if batch_size is None:
        raise ImpossibleInput("batch size", "not given", "Give it, or ask for a series of batches")
    low, high = 0, batch_size
    while True:
        step = max(1, (high - low) // ALL_AT_ONCE)
        points = batch_points(plan, batch_size=batch_size, bad=range(low, high + 1, step))
        worst = max(points, key=lambda point: point.outgoing)
        if step == 1:
            return worst
        assert worst.bad is not None
        low, high = max(low, worst.bad - step), min(high, worst.bad + step)


def check_risk(thing: str, risk: float) -> None:
    """Refuse a risk or chance that is not between 0 and 1."""
    if not 0.0 < risk < 1.0:
        raise ImpossibleInput(thing, risk, "Give a chance above 0 and below 1, such as 0.05")


def _worst_of_series(plan: Plan, batch_size: int | None, model: Model) -> CurvePoint:
    top = quality_at(plan, 1e-6, model=model)
    grid = np.linspace(0.0, top, 2 * ALL_AT_ONCE + 1)
    points = series_points(plan, grid.tolist(), model=model, batch_size=batch_size)
    at = max(range(len(points)), key=lambda index: points[index].outgoing)
    low, high = grid[max(at - 1, 0)], grid[min(at + 1, len(grid) - 1)]
    found = minimize_scalar(
        lambda share: -series_points(plan, [float(share)], model=model, batch_size=batch_size)[0].outgoing,
        bounds=(float(low), float(high)),
        method="bounded",
        options={"xatol": 1e-10 * top},
    )
    return series_points(plan, [float(found.x)], model=model, batch_size=batch_size)[0]
