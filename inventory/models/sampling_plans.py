"""How the plan of a batch's sample is written to JSON and read back; it must be readable years later.

The document of a `BatchSampling` holds the plan as it was resolved, in words and in figures, and how the
pieces were drawn. Nothing of it is worked out anew: a scheme or a setting may have changed since.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from inventory.calc.sampling.attributes import ClassPlans, DefectClass, DoublePlan, Plan, SinglePlan
from inventory.calc.sampling.variables import Spread, VariablesPlan

METHOD = "sampling/1"

Json = dict[str, Any]  # Any: JSON


@dataclass(frozen=True, slots=True)
class ClassPlan:
    """What one class of defects is judged by; `aql` in per cent, None where no table was asked."""

    plan: Plan
    severity: str = ""
    aql: Decimal | None = None
    letter: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class PointByVariables:
    """The point a batch is judged by when by variables; lengths in nm, as deviations from nominal."""

    code: str
    plan: VariablesPlan
    lower_nm: int | None
    upper_nm: int | None
    known_spread_nm: float | None = None


@dataclass(frozen=True, slots=True)
class BatchPlan:
    """The plan of one batch: how many pieces, what decides, and why, in words.

    `first` and `most` are pieces to draw at first and at most. `every_piece`: the whole batch is measured and
    each piece goes by its own verdict; nothing is decided by a count then. `agreed` is the share of bad
    pieces agreed on, in per cent, None when none was. `resting` are the codes of the points not measured.
    """

    kind: str
    batch_size: int
    first: int
    most: int
    severity: str = ""
    classes: Mapping[DefectClass, ClassPlan] = field(default_factory=dict)
    by_variables: PointByVariables | None = None
    agreed: Decimal | None = None
    why: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    resting: tuple[str, ...] = ()
    points_words: str = ""

    @property
    def every_piece(self) -> bool:
        """Whether the whole batch is measured."""
        return self.first >= self.batch_size

    def as_class_plans(self) -> ClassPlans:
        """The plans of the classes as the calculations take them."""
        return ClassPlans(self.batch_size, {one: its.plan for one, its in self.classes.items()}, {})


def write_plan(plan: BatchPlan) -> Json:
    """The plan as JSON values."""
    return {
        "method": METHOD,
        "kind": plan.kind,
        "batch_size": plan.batch_size,
        "first": plan.first,
        "most": plan.most,
        "severity": plan.severity,
        "classes": {str(one): _write_class(its) for one, its in plan.classes.items()},
        "by_variables": None if plan.by_variables is None else _write_point(plan.by_variables),
        "agreed": None if plan.agreed is None else str(plan.agreed),
        "why": list(plan.why),
        "notes": list(plan.notes),
        "resting": list(plan.resting),
        "points_words": plan.points_words,
    }


def read_plan(document: Mapping[str, Any]) -> BatchPlan:  # Any: JSON
    """The plan exactly as it stood when the sample was drawn."""
    return BatchPlan(
        kind=document["kind"],
        batch_size=document["batch_size"],
        first=document["first"],
        most=document["most"],
        severity=document["severity"],
        classes={DefectClass(one): _read_class(its) for one, its in document["classes"].items()},
        by_variables=None if document["by_variables"] is None else _read_point(document["by_variables"]),
        agreed=None if document["agreed"] is None else Decimal(document["agreed"]),
        why=tuple(document["why"]),
        notes=tuple(document["notes"]),
        resting=tuple(document["resting"]),
        points_words=document["points_words"],
    )


def _write_class(one: ClassPlan) -> Json:
    return {
        "plan": _write_numbers(one.plan),
        "severity": one.severity,
        "aql": None if one.aql is None else str(one.aql),
        "letter": one.letter,
        "why": one.why,
    }


def _read_class(document: Mapping[str, Any]) -> ClassPlan:  # Any: JSON
    return ClassPlan(
        plan=_read_numbers(document["plan"]),
        severity=document["severity"],
        aql=None if document["aql"] is None else Decimal(document["aql"]),
        letter=document["letter"],
        why=document["why"],
    )


def _write_numbers(plan: Plan) -> Json:
    both = {"size": plan.size, "accept": plan.accept, "reject": plan.reject, "letter": plan.letter}
    if isinstance(plan, DoublePlan):
        return {**both, "accept_first": plan.accept_first, "reject_first": plan.reject_first}
    return both


def _read_numbers(document: Mapping[str, Any]) -> Plan:  # Any: JSON
    return DoublePlan(**document) if "accept_first" in document else SinglePlan(**document)


def _write_point(point: PointByVariables) -> Json:
    plan = point.plan
    return {
        "code": point.code,
        "plan": {"n": plan.n, "k": plan.k, "m": plan.m, "spread": plan.spread.value},
        "lower_nm": point.lower_nm,
        "upper_nm": point.upper_nm,
        "known_spread_nm": point.known_spread_nm,
    }


def _read_point(document: Mapping[str, Any]) -> PointByVariables:  # Any: JSON
    numbers = document["plan"]
    return PointByVariables(
        code=document["code"],
        plan=VariablesPlan(numbers["n"], numbers["k"], numbers["m"], Spread(numbers["spread"])),
        lower_nm=document["lower_nm"],
        upper_nm=document["upper_nm"],
        known_spread_nm=document["known_spread_nm"],
    )
