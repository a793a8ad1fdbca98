"""The points of a batch as the causes know them: where girths lie, which is the waist, which edge is bound.

What the owner stated at the point is used; what was not stated follows from the walk of the tape, which goes
from top to bottom, or stays unknown.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final, cast

from inventory.calc import geometry
from inventory.calc.causes import Edge, Grain, Point, PointKind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.calc.plan import PointPlan
    from inventory.models import MeasurePoint
    from inventory.queries.plans import SpecPlans

WAISTS: Final = frozenset({"WA", "HW"})
"""The catalogue's codes of the waist: where no height says which girth it is."""

HALVES: Final = 2


def points_for_causes(spec_plans: SpecPlans, size_label: str) -> tuple[Point, ...]:
    """The points that are judged, in walk order; how girths taper is taken from one size."""
    plans = spec_plans.by_size[size_label]
    points = [point for code, point in spec_plans.points.items() if not point.informational and code in plans]
    girths = [point for point in points if plans[point.code].kind in ("half", "full")]
    ranks = {point.code: rank for rank, point in enumerate(_from_the_top(girths))}
    waist = _waist_of(girths)
    waist_rank = ranks.get(waist, len(ranks) / 2)
    slopes = _slopes(girths, plans)
    return tuple(
        Point(
            code=point.code,
            kind=PointKind(point.kind),
            repeat_nm=plans[point.code].error.repeat_sd_nm,
            person_nm=plans[point.code].error.person_sd_nm,
            height_sensitivity=slopes.get(point.code, 0.0),
            seams=_seams(point),
            level=ranks.get(point.code) if point.is_paired else None,
            at_waist=point.code == waist,
            bound_edge=_edge(point, rank=ranks.get(point.code), waist_rank=waist_rank),
            grain=Grain(point.cloth_direction) if point.cloth_direction else None,
        )
        for point in points
    )


def _from_the_top(girths: Sequence[MeasurePoint]) -> list[MeasurePoint]:
    """By height where every girth has one, else as the tape walks."""
    if any(point.height_nm is None for point in girths):
        return list(girths)
    return sorted(girths, key=lambda point: -cast("int", point.height_nm))


def _waist_of(girths: Sequence[MeasurePoint]) -> str:
    """The code of the girth at height 0; the catalogue's waist where no girth lies there; or nothing."""
    at_zero = [point.code for point in girths if point.height_nm == 0]
    by_name = [point.code for point in girths if point.code in WAISTS and point.height_nm is None]
    return next(iter([*at_zero, *by_name]), "")


def _seams(point: MeasurePoint) -> int | None:
    """Seams crossed by what is read; they are stated for one half."""
    if point.seams_crossed is None:
        return None
    return point.seams_crossed * (HALVES if point.kind == PointKind.FULL else 1)


def _edge(point: MeasurePoint, *, rank: int | None, waist_rank: float) -> Edge:
    if not point.edge_bound or rank is None:
        return ""
    if point.height_nm:
        return "top" if point.height_nm > 0 else "bottom"
    return "top" if rank < waist_rank else "bottom"


def _slopes(girths: Sequence[MeasurePoint], plans: Mapping[str, PointPlan]) -> dict[str, float]:
    """How much each girth changes per height the line lies too low: the mean of the two stretches beside it.

    Only of girths whose heights are stated, halves and full girths apart.
    """
    slopes: dict[str, list[float]] = {}
    for kind in (PointKind.HALF, PointKind.FULL):
        known = [point for point in girths if point.kind == kind and point.height_nm is not None]
        known.sort(key=lambda point: -cast("int", point.height_nm))
        for upper, lower in pairwise(known):
            gap = cast("int", upper.height_nm) - cast("int", lower.height_nm)
            if gap > 0:
                slope = geometry.height_sensitivity(
                    plans[upper.code].nominal_nm, plans[lower.code].nominal_nm, distance_nm=gap
                )
                slopes.setdefault(upper.code, []).append(slope)
                slopes.setdefault(lower.code, []).append(slope)
    return {code: sum(found) / len(found) for code, found in slopes.items()}
