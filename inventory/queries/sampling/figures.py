"""What a plan does, before it is chosen: its curve for the real batch, its risks, and the alternatives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from inventory.calc.errors import CalcError
from inventory.calc.sampling.attributes import DefectClass
from inventory.calc.sampling.curves import curve, risk_points, say_passing
from inventory.calc.sampling.variables import acceptance
from inventory.calc.sampling.variables import curve as variables_curve
from inventory.models import SamplingScheme
from inventory.queries.sampling.planning import attributes_plan, plan_of_risks

if TYPE_CHECKING:
    from inventory.calc.sampling.attributes import Plan
    from inventory.calc.sampling.curves import CurvePoint
    from inventory.models.sampling_plans import BatchPlan
    from inventory.queries.sampling.past import Switching

_HARDLY_EVER = 0.005
_ROWS = 8


@dataclass(frozen=True, slots=True)
class Risk:
    """A number of bad pieces and the chance that a batch with so many passes."""

    bad: int
    chance: float


@dataclass(frozen=True, slots=True)
class CurveOf:
    """The curve of one class: name, chances by number of bad pieces, the two risk points, a few rows."""

    name: str
    plan_words: str
    points: Sequence[Risk]
    rows: Sequence[Risk]
    good: Risk
    poor: Risk | None


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another way to look at the batch, by what it asks and promises; `words` where it cannot be done."""

    name: str
    pieces: int | None
    decides: str
    good: Risk | None
    poor: Risk | None
    words: str = ""


def curves_of(plan: BatchPlan) -> list[CurveOf]:
    """The curves of the classes with a number of their own, exact for this batch; none for every piece."""
    if plan.every_piece:
        return []
    if plan.by_variables is not None:
        return [_curve_by_variables(plan)]
    return [
        _curve(str(one), its.plan, plan.batch_size)
        for one, its in plan.classes.items()
        if one is not DefectClass.CRITICAL and its.plan.most <= plan.batch_size
    ]


def say_chance_of(plan: BatchPlan, bad: int) -> list[str]:
    """What becomes of a batch with so many bad pieces, a sentence for each class. Raises `CalcError`."""
    if plan.every_piece:
        return ["Every piece is measured: none of the bad pieces passes by chance."]
    if plan.by_variables is not None:
        chance = acceptance(plan.by_variables.plan, bad / plan.batch_size)
        return [f"With {bad} of {plan.batch_size} out it passes {100 * chance:.0f} times in 100."]
    return [
        f"{one.capitalize()}: {say_passing(its.plan, batch_size=plan.batch_size, bad=bad)}"
        for one, its in plan.classes.items()
        if one is not DefectClass.CRITICAL and its.plan.most <= plan.batch_size
    ]


def alternatives_to(
    plan: BatchPlan, scheme: SamplingScheme, switching: Mapping[DefectClass, Switching]
) -> list[Alternative]:
    """The plan that follows, and beside it: every piece, the levels around it, the smallest plan by risk."""
    size = plan.batch_size
    found = [_described("As agreed", plan)]
    if scheme.kind == SamplingScheme.Kind.ATTRIBUTES:
        levels = list(SamplingScheme.Level.values)
        general = [level for level in ("S-4", "I", "II", "III") if level != scheme.level and level in levels]
        found += [_tried(f"Level {level}", scheme, size, switching, level=level) for level in general]
    if scheme.kind != SamplingScheme.Kind.BY_RISK:
        found.append(_tried_by_risk(scheme, size))
    found.append(Alternative("Every piece", size, "each piece by its own verdict", None, None))
    return found


def _tried(
    name: str,
    scheme: SamplingScheme,
    size: int,
    switching: Mapping[DefectClass, Switching],
    *,
    level: str,
) -> Alternative:
    try:
        return _described(name, attributes_plan(scheme, size, switching, level=level))
    except CalcError as refusal:
        return Alternative(name, None, "", None, None, str(refusal))


def _tried_by_risk(scheme: SamplingScheme, size: int) -> Alternative:
    shares = (scheme.producer_quality, scheme.producer_risk, scheme.consumer_quality, scheme.consumer_risk)
    wanted = scheme
    name = "By risk"
    if any(share is None for share in shares):
        name = "By risk: 1 % bad passes 95 times in 100, 10 % bad 10 times"
        wanted = SamplingScheme(
            kind=SamplingScheme.Kind.BY_RISK,
            producer_quality=1,
            producer_risk=5,
            consumer_quality=10,
            consumer_risk=10,
        )
    try:
        return _described(name, plan_of_risks(wanted, size))
    except CalcError as refusal:
        return Alternative(name, None, "", None, None, str(refusal))


def _described(name: str, plan: BatchPlan) -> Alternative:
    if plan.every_piece:
        return Alternative(name, plan.batch_size, "every piece: the sample is not smaller", None, None)
    curves = curves_of(plan)
    decides = "; ".join(f"{one.name}: {one.plan_words}" for one in curves)
    return Alternative(name, plan.first, decides, curves[0].good, curves[0].poor)


def _curve(name: str, plan: Plan, batch_size: int) -> CurveOf:
    chances = [_risk(point) for point in curve(plan, batch_size=batch_size)]
    end = next((at for at, one in enumerate(chances) if one.chance < _HARDLY_EVER), len(chances) - 1)
    shown = chances[: end + 1]
    risks = risk_points(plan, batch_size=batch_size)
    return CurveOf(
        name=name,
        plan_words=f"accept with {plan.accept}, refuse with {plan.reject}",
        points=shown,
        rows=_few(shown),
        good=_risk(risks.good),
        poor=None if risks.poor is None else _risk(risks.poor),
    )


def _curve_by_variables(plan: BatchPlan) -> CurveOf:
    assert plan.by_variables is not None
    its, size = plan.by_variables, plan.batch_size
    shares = np.arange(size + 1, dtype=np.float64) / size
    chances = [Risk(bad, float(one)) for bad, one in enumerate(variables_curve(its.plan, shares))]
    end = next((at for at, one in enumerate(chances) if one.chance < _HARDLY_EVER), size)
    good = max((one for one in chances if one.chance >= 0.95), key=lambda one: one.bad)
    poor = next((one for one in chances if one.chance <= 0.10), None)
    words = f"{its.code}: accept with an estimated share of at most {100 * its.plan.m:.2f} %"
    shown = chances[: end + 1]
    return CurveOf(its.code, words, shown, _few(shown), good, poor)


def _few(points: Sequence[Risk]) -> list[Risk]:
    """About eight of the points, first and last among them."""
    step = max(1, -(-(len(points) - 1) // _ROWS))
    rows = list(points[::step])
    return rows if rows[-1] == points[-1] else [*rows, points[-1]]


def _risk(point: CurvePoint) -> Risk:
    assert point.bad is not None
    return Risk(point.bad, point.passing)
