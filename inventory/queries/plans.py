"""What a size of a spec asks of each point, as plain values ready for judging.

A spec in force is frozen, so its plans are kept in memory; the only thing that can change under them is a
point's default reading error, which counts up the style's `points_version`, part of the key.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import cast

from django.db.models import Q

from inventory.calc.plan import Basis, Kind, PointPlan
from inventory.models import Batch, MeasurePoint, Spec, SpecCell


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
    by_size: dict[str, dict[str, PointPlan]] = {}
    points: dict[str, MeasurePoint] = {}
    for cell in cells:
        point = cell.spec_point.point
        points[point.code] = point
        by_size.setdefault(cell.size.label, {})[point.code] = as_plan(cell)
    return SpecPlans(
        spec_id=spec_id,
        by_size=MappingProxyType({size: MappingProxyType(plans) for size, plans in by_size.items()}),
        points=MappingProxyType(points),
    )


def as_plan(cell: SpecCell) -> PointPlan:
    """One cell of a spec as the calculations take it."""
    spec_point = cell.spec_point
    point = spec_point.point
    return PointPlan(
        code=point.code,
        kind=cast("Kind", point.kind),
        paired=point.is_paired,
        nominal_nm=cell.nominal_nm,
        minus_nm=cell.tolerance_minus_nm,
        plus_nm=cell.tolerance_plus_nm,
        basis=cast("Basis", spec_point.basis),
        pair_limit=spec_point.as_pair_limit(),
        error=point.as_reading_error(),
    )
