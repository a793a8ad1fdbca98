"""Which secondary points rest in a batch: by the rota of its sample, until one reading of it is out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.models import BatchSampling
from inventory.queries.sampling.earned import a_reading_is_out

if TYPE_CHECKING:
    from inventory.models import Batch, Inspection
    from inventory.queries.plans import SpecPlans

NOTHING: frozenset[str] = frozenset()


def resting_in(batch: Batch, spec_plans: SpecPlans) -> frozenset[str]:
    """Codes of the points not asked for now. No statement where the style has no secondary point."""
    resting = _rest_by_rota(batch, spec_plans)
    return NOTHING if not resting or a_reading_is_out(batch.pk) else resting


def rested_in(inspection: Inspection, spec_plans: SpecPlans) -> frozenset[str]:
    """Codes a sitting may lack: of one that is closed those of the rota, of an open one those resting now."""
    batch = inspection.piece.batch
    if inspection.finished_at is None:
        return resting_in(batch, spec_plans)
    return _rest_by_rota(batch, spec_plans)


def _rest_by_rota(batch: Batch, spec_plans: SpecPlans) -> frozenset[str]:
    if not any(point.is_secondary for point in spec_plans.points.values()):
        return NOTHING
    document = BatchSampling.objects.filter(batch=batch).values_list("document", flat=True).first()
    return NOTHING if document is None else frozenset(document["resting"])
