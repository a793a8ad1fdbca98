"""What a size of a spec asks of each point, as plain values ready for judging.

A spec in force is frozen, so its plans are kept in memory; the only thing that can change under them is a
point's default reading error, which counts up the style's `points_version`, part of the key.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import cast

from django.db.models import Q

from inventory.calc.plan import Basis, Kind, PointPlan
from inventory.models import Batch, MeasurePoint, Spec, SpecCell
from inventory.queries.point_levels import Girth, fixed_u_nm


class SizeNotInSpec(LookupError):
    """A piece carries a size that its spec revision does not have."""

    def __init__(self, size_label: str, known: Mapping[str, object]) -> None:
        sizes = ", ".join(known)
        super().__init__(
            f"Size {size_label!r} is not in this spec. It has: {sizes}. Correct the label or the spec."
        )


# A revision that was agreed is judged as agreed, for ever: retiring a point only keeps it out of drafts.
_still_asked_for = ~Q(spec_point__spec__state=Spec.State.DRAFT) | Q(spec_point__point__is_active=True)


@dataclass(frozen=True, slots=True)
class SpecPlans:
    """Plans per size and point code, in walk order; and the points' rows by code."""

    spec_id: int
    by_size: Mapping[str, Mapping[str, PointPlan]]
    points: Mapping[str, MeasurePoint]

    def for_size(self, size_label: str) -> Mapping[str, PointPlan]:
        """Point code to plan; raises `SizeNotInSpec`."""
        try:
            return self.by_size[size_label]
        except KeyError:
            raise SizeNotInSpec(size_label, self.by_size) from None


def plans_of(batch: Batch) -> SpecPlans:
    """The plans a batch is judged by: those of the spec revision its order named. No query when kept.

    `batch.style` should be loaded (select_related), as its `points_version` is read.
    """
    return _kept_plans(batch.spec_id, batch.style.points_version)


def plans_of_spec(spec: Spec) -> SpecPlans:
    """The plans of any revision, drafts included (never kept in memory)."""
    return _read_plans(spec.pk)


@lru_cache(maxsize=512)
def _kept_plans(spec_id: int, points_version: int) -> SpecPlans:  # noqa: ARG001  # the version is only part of the key
    return _read_plans(spec_id)


def _read_plans(spec_id: int) -> SpecPlans:
    cells = (
        SpecCell.objects.filter(_still_asked_for, spec_point__spec=spec_id)
        .select_related("size", "spec_point__point__known_error")
        .order_by("size__position", "spec_point__point__position", "spec_point__point_id")
    )
    of_size: dict[str, list[SpecCell]] = {}
    for cell in cells:
        of_size.setdefault(cell.size.label, []).append(cell)
    by_size = {
        size: {cell.spec_point.point.code: as_plan(cell, beside=column) for cell in column}
        for size, column in of_size.items()
    }
    points = {cell.spec_point.point.code: cell.spec_point.point for cell in cells}
    return SpecPlans(
        spec_id=spec_id,
        by_size=MappingProxyType({size: MappingProxyType(plans) for size, plans in by_size.items()}),
        points=MappingProxyType(points),
    )


def as_plan(cell: SpecCell, *, beside: Sequence[SpecCell] = ()) -> PointPlan:
    """One cell of a spec as the calculations take it; the girths beside it say how much a wrong level adds.

    Into the fixed part go the level and the state of the cloth as the point states them; the tape's own part
    comes in at judging, as it hangs on the tape.
    """
    spec_point = cell.spec_point
    point = spec_point.point
    error = point.as_reading_error()
    fixed_nm = fixed_u_nm(_girth(cell), map(_girth, beside))
    if fixed_nm:
        error = replace(error, fixed_sd_nm=math.ceil(math.hypot(error.fixed_sd_nm, fixed_nm) - 1e-6))
    return PointPlan(
        code=point.code,
        kind=cast("Kind", point.kind),
        paired=point.is_paired,
        nominal_nm=cell.nominal_nm,
        minus_nm=cell.tolerance_minus_nm,
        plus_nm=cell.tolerance_plus_nm,
        basis=cast("Basis", spec_point.basis),
        pair_limit=spec_point.as_pair_limit(),
        error=error,
    )


def _girth(cell: SpecCell) -> Girth:
    return Girth(cell.spec_point.point, cell.nominal_nm)
