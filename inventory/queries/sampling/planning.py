"""The plan of one batch, from what was agreed, the size of the batch and the history of maker and style."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from inventory.calc.errors import CalcError
from inventory.calc.sampling import by_risk
from inventory.calc.sampling.attributes import (
    DefectClass,
    Edition,
    Level,
    Severity,
    SinglePlan,
    plan_classes,
)
from inventory.calc.sampling.earned import Extent, Points, pieces_due
from inventory.models import SamplingScheme, Shop
from inventory.models.sampling_plans import BatchPlan, ClassPlan
from inventory.queries.plans import plans_of
from inventory.queries.sampling.earned import a_reading_is_out, points_of, policy_of, standing_of
from inventory.queries.sampling.past import RULES, Switching, history_of
from inventory.queries.sampling.schemes import scheme_of_batch
from inventory.queries.sampling.variables import plan_by_variables

if TYPE_CHECKING:
    from inventory.models import Batch
    from inventory.queries.sampling.past import History

Kind = SamplingScheme.Kind
_STRICTEST = (Severity.TIGHTENED, Severity.NORMAL, Severity.REDUCED)
NEVER_SET = "No sampling was agreed on with this maker or set for the shop: every piece is measured."


@dataclass(frozen=True, slots=True)
class Proposal:
    """What follows for a batch: the plan, or the sentence why there is none.

    `plan` is None only for a batch without pieces and where the scheme cannot be carried out (`refused`).
    """

    scheme: SamplingScheme | None
    plan: BatchPlan | None
    switching: Mapping[DefectClass, Switching]
    earned_words: str
    refused: str = ""


def proposal_for(batch: Batch, *, pieces: int | None = None) -> Proposal:
    """The plan that follows for a batch of `pieces` (those numbered, unless said otherwise).

    `batch.delivery` and `batch.style` should be loaded. A constant number of statements.
    """
    scheme = scheme_of_batch(batch)
    shop = Shop.objects.current()
    size = batch.pieces.count() if pieces is None else pieces
    policy = policy_of(shop, scheme)
    standing, came_before = standing_of(batch)
    words = standing.words(policy)
    if not size:
        return Proposal(scheme, None, {}, words, "No piece is numbered yet. Number the pieces first.")
    bad_seen = a_reading_is_out(batch.pk)
    points = points_of(
        list(plans_of(batch).points.values()),
        came_before=came_before,
        policy=policy,
        standing=standing,
        bad_seen=bad_seen,
    )
    if scheme is None:
        return Proposal(None, _all(size, NEVER_SET, points), {}, words)
    if scheme.kind == Kind.EVERY_PIECE:
        return Proposal(scheme, _all(size, f"Agreed: every piece. {scheme.reason}", points), {}, words)
    due = pieces_due(size, policy=policy, standing=standing, bad_seen=bad_seen)
    if due.extent is Extent.ALL:
        return Proposal(scheme, _all(size, due.words, points), {}, words)
    history = history_of(batch.delivery.maker_id, batch.style_id)
    switching = switching_of(scheme, history)
    try:
        plan = plan_under(scheme, size, switching, batch=batch)
    except CalcError as refusal:
        return Proposal(scheme, None, switching, words, str(refusal))
    plan = replace(plan, why=(due.words, *plan.why), resting=points.resting, points_words=points.words)
    return Proposal(scheme, plan, switching, words)


def switching_of(scheme: SamplingScheme, history: History) -> dict[DefectClass, Switching]:
    """How strictly each class is inspected next; empty where the scheme knows no severity."""
    rules = RULES[SamplingScheme.Rules(scheme.switching)]
    return {one: history.switching(one, aql=aql, rules=rules) for one, aql in aqls_of(scheme).items()}


def aqls_of(scheme: SamplingScheme) -> dict[DefectClass, Decimal]:
    """The quality limits agreed on, in per cent; none for schemes by risk and of every piece."""
    if scheme.kind not in {Kind.ATTRIBUTES, Kind.VARIABLES}:
        return {}
    agreed = {DefectClass.MAJOR: scheme.aql_major, DefectClass.MINOR: scheme.aql_minor}
    if scheme.kind == Kind.VARIABLES:
        del agreed[DefectClass.MINOR]
    return {one: aql.normalize() for one, aql in agreed.items() if aql is not None}


def plan_under(
    scheme: SamplingScheme, size: int, switching: Mapping[DefectClass, Switching], *, batch: Batch
) -> BatchPlan:
    """The plan of a scheme for a batch of `size`. Raises `CalcError` where it has none."""
    stopped = next((its for its in switching.values() if its.severity is None), None)
    if stopped is not None:
        return _all(size, f"Inspection by sampling has stopped. {stopped.why} {stopped.standing.ahead}")
    if scheme.kind == Kind.BY_RISK:
        return plan_of_risks(scheme, size)
    if scheme.kind == Kind.VARIABLES:
        return plan_by_variables(scheme, size, switching.get(DefectClass.MAJOR), batch=batch)
    return attributes_plan(scheme, size, switching)


def attributes_plan(
    scheme: SamplingScheme,
    size: int,
    switching: Mapping[DefectClass, Switching],
    *,
    level: str = "",
) -> BatchPlan:
    """The plan by the tables; `level` for another than agreed, to compare."""
    if size < 2:
        return _all(size, "One piece: it is measured.")
    of_1999 = scheme.switching == SamplingScheme.Rules.OF_1999
    severities = {one: its.severity or Severity.NORMAL for one, its in switching.items()}
    notes: list[str] = []
    if of_1999 and Severity.REDUCED in severities.values():
        notes.append(
            "Reduced inspection is earned, but the reduced plans of ISO 2859-1:1999 are not supplied here: "
            "the normal plan is used."
        )
        severities = {
            one: Severity.NORMAL if it is Severity.REDUCED else it for one, it in severities.items()
        }
    found = plan_classes(
        size,
        aqls_of(scheme),
        level=Level(level or scheme.level),
        severities=severities,
        edition=Edition.ISO_1999 if of_1999 else Edition.MIL_105E,
        double=scheme.stages == SamplingScheme.Stages.DOUBLE,
    )
    classes = {DefectClass.CRITICAL: ClassPlan(found.plans[DefectClass.CRITICAL])}
    for one, choice in found.choices.items():
        its = switching.get(one)
        why = its.why if its else ""
        classes[one] = ClassPlan(choice.plan, choice.severity.value, choice.aql, choice.letter, why)
    return BatchPlan(
        kind=Kind.ATTRIBUTES,
        batch_size=size,
        first=min(found.first, size),
        most=min(found.most, size),
        severity=next((it.value for it in _STRICTEST if it in severities.values()), ""),
        classes=classes,
        agreed=aqls_of(scheme).get(DefectClass.MAJOR, scheme.aql_minor),
        why=tuple(f"{one.capitalize()}: {its.why}" for one, its in switching.items()),
        notes=(*notes, *found.notes),
    )


def plan_of_risks(scheme: SamplingScheme, size: int) -> BatchPlan:
    """The smallest plan for the two risks agreed on, for the real batch."""
    shares = (scheme.producer_quality, scheme.producer_risk, scheme.consumer_quality, scheme.consumer_risk)
    good, alpha, poor, beta = (float(share or 0) / 100 for share in shares)
    found = by_risk.plan_by_risk(good, alpha, poor, beta, batch_size=size)
    critical = SinglePlan(found.plan.size, 0, 1)
    return BatchPlan(
        kind=Kind.BY_RISK,
        batch_size=size,
        first=found.plan.size,
        most=found.plan.size,
        classes={DefectClass.CRITICAL: ClassPlan(critical), DefectClass.MAJOR: ClassPlan(found.plan)},
        agreed=scheme.producer_quality,
        why=(
            f"By risk: a batch with {found.good_bad} bad is to pass, one with {found.poor_bad} is not.",
            found.words,
        ),
    )


def _all(size: int, why: str, points: Points | None = None) -> BatchPlan:
    return BatchPlan(
        kind=Kind.EVERY_PIECE,
        batch_size=size,
        first=size,
        most=size,
        why=(why.strip(),),
        resting=points.resting if points else (),
        points_words=points.words if points else "",
    )
