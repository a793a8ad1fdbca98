"""Whether the readings of a batch heap on round figures or on the nominal, per unit they were taken in."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Count

from inventory.calc import length, slips
from inventory.models import Reading
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from inventory.models import Batch


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
    values: defaultdict[str, list[int]] = defaultdict(list)
    nominals: defaultdict[str, list[int]] = defaultdict(list)
    for unit, point_id, size_label, length_nm, count in groups:
        plan = spec_plans.by_size.get(size_label, {}).get(codes.get(point_id, ""))
        if plan is not None:
            values[unit] += [length_nm] * count
            nominals[unit] += [plan.nominal_nm] * count
    return [
        UnitHeaping(
            unit,
            slips.heaping(
                values[unit],
                nominals_nm=nominals[unit],
                unit=length.Unit(unit),
                denominator=slips.division_of(values[unit]),
            ),
        )
        for unit in sorted(values)
    ]
