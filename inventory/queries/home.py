"""What to do now: the answer the first screen gives."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeVar

from django.db.models import Case, Count, F, FilteredRelation, Model, Q, Value, When

from inventory.models import Delivery, Inspection, Instrument, Maker, Piece, Spec
from inventory.models.pieces import Standing
from inventory.queries import batches, deliveries
from inventory.queries.pieces import MEASURED_AGAIN

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from django.db.models import QuerySet

    from inventory.models import Shop

SHOWN: Final = 6

RowT = TypeVar("RowT", bound=Model)


@dataclass(frozen=True, slots=True)
class FirstSteps:
    """Which of the first things a new shop has done."""

    maker: bool
    spec: bool
    instrument: bool


@dataclass(frozen=True, slots=True)
class Home:
    """What waits, the most pressing of each kind first; `…_more` says how many are not listed.

    `held` counts the pieces on hold by current verdict, "none" for those not judged yet, and as "again" those
    to be measured again since their label was changed. `first_steps` is None once a delivery was received.
    """

    deliveries: Sequence[deliveries.DeliveryRow]
    deliveries_more: int
    measuring: Sequence[batches.BatchRow]
    measuring_more: int
    held: Counter[str]
    sittings: Sequence[Inspection]
    sittings_more: int
    first_steps: FirstSteps | None

    @property
    def nothing_waits(self) -> bool:
        return not (self.held.total() or self.deliveries or self.measuring or self.sittings)


def home(*, today: dt.date, shop: Shop) -> Home:
    """What to do now in the whole shop; at most ten statements."""
    open_deliveries, deliveries_more = _first(deliveries.open_deliveries())
    measuring, measuring_more = _first(batches.batches_in_measuring())
    sittings, sittings_more = _first(sittings_in_progress())
    nothing_yet = not open_deliveries and not Delivery.objects.exists()
    return Home(
        deliveries=deliveries.rows_of(open_deliveries, today=today, shop=shop),
        deliveries_more=deliveries_more,
        measuring=batches.rows_of(measuring),
        measuring_more=measuring_more,
        held=held_by_verdict(),
        sittings=sittings,
        sittings_more=sittings_more,
        first_steps=_first_steps() if nothing_yet else None,
    )


def held_by_verdict() -> Counter[str]:
    """Pieces on hold by their current shelf verdict, "none" for those not judged yet.

    "again" are those of another size than they were judged by: what was found says nothing of them now.
    """
    groups = (
        Piece.objects.filter(standing__in=MEASURED_AGAIN)
        .annotate(current=FilteredRelation("verdicts", condition=Q(verdicts__is_current=True)))
        .annotate(
            found=Case(
                When(current__pk=None, then=Value("none")),
                When(current__basis__size_label=F("size_label"), then=F("current__shelf")),
                default=Value("again"),
            )
        )
        .filter(Q(standing=Standing.HOLD) | Q(found="again"))
        .order_by()
        .values_list("found")
        .annotate(Count("id"))
    )
    return Counter(dict(groups))


def sittings_in_progress() -> QuerySet[Inspection]:
    """Sittings that were begun and not finished, the newest first."""
    return (
        Inspection.objects.filter(finished_at=None)
        .select_related("piece__batch__style", "opened_by")
        .order_by("-id")
    )


def _first_steps() -> FirstSteps:
    return FirstSteps(
        maker=Maker.objects.exists(),
        spec=Spec.objects.filter(state=Spec.State.IN_FORCE).exists(),
        instrument=Instrument.objects.exists(),
    )


def _first(found: QuerySet[RowT]) -> tuple[list[RowT], int]:
    """The first few, and how many more there are."""
    return list(found[:SHOWN]), max(found.count() - SHOWN, 0)
