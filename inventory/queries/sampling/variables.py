"""Plans by variables: one point of the style, judged from mean and spread of its deviations from nominal.

A batch holds several sizes, so what is judged is the deviation from each size's nominal against one pair of
tolerances. Of a pair of halves it is the mean of left and right: one figure per piece.
"""

from __future__ import annotations

from math import hypot, sqrt
from typing import TYPE_CHECKING

import numpy as np

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import DefectClass, Severity, SinglePlan
from inventory.calc.sampling.variables import (
    Judged,
    ReadingError,
    Spread,
    bell_check,
    judge,
    plan_by_risk,
    plan_for,
)
from inventory.calc.sampling.variables import Risks as VariableRisks
from inventory.calc.sampling.variables import Severity as VariablesSeverity
from inventory.models import Batch, PieceVerdict, SamplingScheme
from inventory.models.sampling_plans import BatchPlan, ClassPlan, PointByVariables
from inventory.queries.plans import plans_of
from inventory.queries.verdict_cells import cells_of_batch

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.calc.plan import PointPlan
    from inventory.queries.sampling.past import Switching

FEWEST_FOR_SIGMA = 30
"""Readings of earlier batches from which a spread counts as known. Common practice, no source."""

_BATCHES_FOR_SIGMA = 10


def plan_by_variables(
    scheme: SamplingScheme, size: int, switching: Switching | None, *, batch: Batch
) -> BatchPlan:
    """The plan for the scheme's point. Raises `CalcError` in words where there is none."""
    point = scheme.point
    if point is None or scheme.aql_major is None:
        raise ImpossibleInput("plan by variables", "without a point or an AQL", "Set the scheme again")
    severity = (switching.severity if switching else None) or Severity.NORMAL
    notes: tuple[str, ...] = ()
    if severity is Severity.REDUCED:
        severity = Severity.NORMAL
        notes = ("Reduced plans by variables are not supplied here: the normal plan is used.",)
    lower_nm, upper_nm = _limits(point.code, batch)
    asked = VariablesSeverity(severity.value)
    known_nm = None
    if scheme.method == SamplingScheme.Method.SIGMA:
        known_nm = known_spread_nm(batch, point.code)
        plan = plan_by_risk(_risks_of(scheme), spread=Spread.KNOWN)
        if plan.n >= size:
            raise ImpossibleInput(
                "sample of this plan", f"{plan.n}, of a batch of {size}", "Measure every piece instead"
            )
        notes = (*notes, f"Spread known from earlier batches: {known_nm / 1e6:.2f} mm.")
    else:
        plan = plan_for(size, scheme.aql_major.normalize(), severity=asked)
    its = PointByVariables(point.code, plan, lower_nm, upper_nm, known_nm)
    critical = ClassPlan(SinglePlan(plan.n, 0, 1))
    return BatchPlan(
        kind=SamplingScheme.Kind.VARIABLES,
        batch_size=size,
        first=plan.n,
        most=plan.n,
        severity=severity.value,
        classes={DefectClass.CRITICAL: critical},
        by_variables=its,
        agreed=scheme.aql_major,
        why=(f"{point.code}: {switching.why}",) if switching else (),
        notes=(
            f"{plan.n} pieces, judged by {point.code} alone: mean and spread of the deviations from nominal.",
            f"Of a pair the mean of both halves counts. k = {plan.k:.3f}, M = {100 * plan.m:.3f} %.",
            "Every piece drawn is measured at every point; what is out elsewhere goes by its own verdict.",
            *notes,
        ),
    )


def known_spread_nm(batch: Batch, code: str) -> float:
    """Spread of a point within the earlier batches of maker and style, pooled (nm).

    Raises `ImpossibleInput` with fewer than 30 readings to go by.
    """
    earlier = Batch.objects.filter(
        delivery__maker=batch.delivery.maker_id, style=batch.style_id, number__lt=batch.number
    ).order_by("-number")[:_BATCHES_FOR_SIGMA]
    groups = [_deviations_of(one, code) for one in earlier]
    groups = [group for group in groups if len(group) > 1]
    readings = sum(len(group) for group in groups)
    freedom = readings - len(groups)
    squares = sum(float(((np.asarray(group) - np.mean(group)) ** 2).sum()) for group in groups)
    if readings < FEWEST_FOR_SIGMA or not squares:
        raise ImpossibleInput(
            f"known spread of {code}",
            f"not known: {readings} pieces of earlier batches are judged, {FEWEST_FOR_SIGMA} are needed",
            "Take the s method until there are enough",
        )
    return sqrt(squares / freedom)


def judged_by_variables(
    plan: PointByVariables, deviations_nm: Sequence[float], error: ReadingError
) -> tuple[Judged, str]:
    """The verdict of a complete sample, and what the shape of the readings says."""
    readings = [round(one) for one in deviations_nm]
    judged = judge(
        readings,
        plan.plan,
        lower_nm=plan.lower_nm,
        upper_nm=plan.upper_nm,
        known_spread_nm=plan.known_spread_nm,
        error=error,
    )
    return judged, bell_check(readings).words


def error_at(plan: PointPlan) -> ReadingError:
    """Our reading error at a point: each reading's own, and what one person's readings share."""
    shared_nm = hypot(plan.error.person_sd_nm, plan.error.fixed_sd_nm)
    return ReadingError(own_u_nm=plan.error.repeat_sd_nm, shared_u_nm=shared_nm)


def deviations_at(verdict_ids: Mapping[int, int], batch_id: int, code: str) -> dict[int, float]:
    """Deviation (nm) at a point by piece; `verdict_ids` are current verdicts by piece."""
    said = cells_of_batch(batch_id, verdict_ids.values())
    return {
        piece: said[verdict].deviations[code]
        for piece, verdict in verdict_ids.items()
        if verdict in said and code in said[verdict].deviations
    }


def _deviations_of(batch: Batch, code: str) -> list[float]:
    ids = dict(PieceVerdict.objects.filter(piece__batch=batch, is_current=True).values_list("piece_id", "pk"))
    return list(deviations_at(ids, batch.pk, code).values())


def _limits(code: str, batch: Batch) -> tuple[int, int]:
    """Tolerances as deviations; of a full girth read in halves, per half. Alike in all sizes, or refused."""
    found = set()
    for plans in plans_of(batch).by_size.values():
        if code in plans:
            plan = plans[code]
            share = 2 if plan.kind == "half" and plan.basis == "full" else 1
            found.add((-plan.minus_nm // share, plan.plus_nm // share))
    if len(found) != 1:
        raise ImpossibleInput(
            f"tolerance of {code}",
            "not in this spec" if not found else "not the same in all sizes",
            "Choose a point with one tolerance for all sizes, or count pieces by attributes",
        )
    return found.pop()


def _risks_of(scheme: SamplingScheme) -> VariableRisks:
    shares = (scheme.producer_quality, scheme.producer_risk, scheme.consumer_quality, scheme.consumer_risk)
    p1, alpha, p2, beta = (float(share or 0) / 100 for share in shares)
    return VariableRisks(p1=p1, alpha=alpha, p2=p2, beta=beta)
