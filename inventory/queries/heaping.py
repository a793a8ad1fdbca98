"""Whether the readings of a batch heap on round figures or on the nominal, per unit they were taken in.

Each point spreads in its own way, so each is held against its own spread, and the counts are added up.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from django.db.models import Count

from inventory.calc import length, slips
from inventory.models import Reading
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from inventory.models import Batch


FEWEST_OF_A_POINT: Final = 10
"""So many readings of a point are judged by their own spread; checked on simulated honest readings."""


@dataclass(slots=True, eq=False)
class _Part:
    """Readings of one point and their nominals (nm)."""

    values: list[int] = field(default_factory=list)
    nominals: list[int] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class UnitHeaping:
    """What the readings in one unit show."""

    unit: str
    found: slips.Heaping


def heaping_of(batch: Batch) -> list[UnitHeaping]:
    """Heaps among the readings in effect of a batch; one statement.

    `batch.style` should be loaded. Inches are taken to go by the division the readings keep to, however the
    shop shows them. A reading of a size or point the spec does not have is left out, there is no nominal to
    hold it against.
    """
    spec_plans = plans_of(batch)
    codes = {point.pk: code for code, point in spec_plans.points.items()}
    groups = (
        Reading.objects.in_effect()
        .filter(inspection__piece__batch=batch)
        .order_by()
        .values_list("unit", "point_id", "inspection__piece__size_label", "length_nm")
        .annotate(Count("id"))
    )
    parts: defaultdict[str, defaultdict[str, _Part]] = defaultdict(lambda: defaultdict(_Part))
    for unit, point_id, size_label, length_nm, count in groups:
        code = codes.get(point_id, "")
        plan = spec_plans.by_size.get(size_label, {}).get(code)
        if plan is not None:
            part = parts[unit][code]
            part.values += [length_nm] * count
            part.nominals += [plan.nominal_nm] * count
    return [UnitHeaping(unit, _looked_at(unit, list(parts[unit].values()))) for unit in sorted(parts)]


def _looked_at(unit: str, parts: list[_Part]) -> slips.Heaping:
    """Each point by its own spread; points of few readings together, for their spread is not known."""
    few = [part for part in parts if len(part.values) < FEWEST_OF_A_POINT]
    rest = _Part(
        [value for part in few for value in part.values], [value for part in few for value in part.nominals]
    )
    denominator = slips.division_of([value for part in parts for value in part.values])
    return slips.heaping_together(
        [
            slips.heaping(
                part.values, nominals_nm=part.nominals, unit=length.Unit(unit), denominator=denominator
            )
            for part in (*(part for part in parts if part not in few), *([rest] if few else []))
        ],
        unit=length.Unit(unit),
    )
