"""What was taken from a piece, brought together per point and side; and what of it a verdict hangs on."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING

from inventory.calc import uncertainty
from inventory.calc.judging import Taken
from inventory.queries.tape_corrections import NOTHING

if TYPE_CHECKING:
    from inventory.calc.plan import PointPlan
    from inventory.models import Reading
    from inventory.queries.plans import SpecPlans
    from inventory.queries.tape_corrections import Tapes, TapesOfVerdict


def taken_of(
    readings: Iterable[Reading], tapes: Tapes | TapesOfVerdict = NOTHING
) -> dict[tuple[str, str], Taken]:
    """Readings in effect, brought together per point and side: mean, how many, by how many people.

    Each is taken without the error its tape had. The readings' `point` should be loaded (select_related).
    """
    groups: defaultdict[tuple[str, str], list[Reading]] = defaultdict(list)
    for reading in readings:
        groups[reading.point.code, reading.side].append(reading)
    return {
        column: Taken(
            mean_nm=uncertainty.mean_nm([tapes.corrected_nm(reading) for reading in group]),
            readings=len(group),
            people=len({reading.taken_by_id for reading in group}),
            by=tuple(sorted(Counter(reading.taken_by_id for reading in group).items())),
        )
        for column, group in groups.items()
    }


def deciding_plans(spec_plans: SpecPlans, size_label: str) -> dict[str, PointPlan]:
    """The plans of a size that a verdict hangs on: informational points are read and kept, not judged."""
    return {
        code: plan
        for code, plan in spec_plans.for_size(size_label).items()
        if not spec_plans.points[code].informational
    }
