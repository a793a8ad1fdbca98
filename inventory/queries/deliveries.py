"""Which deliveries there are, how far each is, and where its notice clock stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Exists, OuterRef, Q

from inventory.models import Batch, Delivery, Piece
from inventory.models.pieces import Standing
from inventory.queries.batches import PieceCounts, counts_of
from inventory.queries.notice_clock import NoticeClock, notice_clock

if TYPE_CHECKING:
    import datetime as dt

    from django.db.models import QuerySet

    from inventory.models import Shop


@dataclass(frozen=True, slots=True)
class DeliveryRow:
    """A delivery in a list: its clock, how many batches, and the counts of their pieces."""

    delivery: Delivery
    clock: NoticeClock
    batches: int
    counts: PieceCounts


def delivery_by_number(number: int) -> Delivery | None:
    """The delivery with everything its page names, or None."""
    return Delivery.objects.select_related("maker", "received_by").filter(number=number).first()


def deliveries_matching(
    *, text: str = "", maker_id: int | None = None, undecided: bool = False
) -> QuerySet[Delivery]:
    """Deliveries, newest arrival first; `text` is looked for in label, order and invoice references.

    `undecided` keeps those with a piece on hold, or in which nothing is numbered yet.
    """
    found = Delivery.objects.select_related("maker", "received_by")
    if maker_id is not None:
        found = found.filter(maker=maker_id)
    if text:
        found = found.filter(_mentions(text))
    return found.filter(_undecided()) if undecided else found


def deliveries_by_reference(text: str) -> list[Delivery]:
    """Deliveries of an order or invoice: those of exactly this reference, else those that mention it."""
    exactly = Q(order_reference__iexact=text) | Q(invoice_reference__iexact=text)
    return list(Delivery.objects.filter(exactly)) or list(Delivery.objects.filter(_references(text)))


def open_deliveries() -> QuerySet[Delivery]:
    """Deliveries in which something is still to be decided, the oldest arrival first."""
    return Delivery.objects.select_related("maker").filter(_undecided()).order_by("arrived_at", "id")


def rows_of(deliveries: Iterable[Delivery], *, today: dt.date, shop: Shop) -> list[DeliveryRow]:
    """The deliveries with clocks and counts; two statements."""
    listed = list(deliveries)
    batches: dict[int, list[int]] = {delivery.pk: [] for delivery in listed}
    for batch_id, delivery_id in Batch.objects.filter(delivery__in=listed).values_list("id", "delivery_id"):
        batches[delivery_id].append(batch_id)
    counts = counts_of(batch_id for of_delivery in batches.values() for batch_id in of_delivery)
    rows = []
    for delivery in listed:
        together = PieceCounts()
        for batch_id in batches[delivery.pk]:
            together.add(counts[batch_id])
        clock = notice_clock(delivery, today=today, shop=shop)
        rows.append(DeliveryRow(delivery, clock, len(batches[delivery.pk]), together))
    return rows


def _undecided() -> Q:
    pieces = Piece.objects.filter(batch__delivery=OuterRef("pk"))
    return Q(Exists(pieces.filter(standing=Standing.HOLD))) | Q(~Exists(pieces))


def _references(text: str) -> Q:
    return Q(order_reference__icontains=text) | Q(invoice_reference__icontains=text)


def _mentions(text: str) -> Q:
    found = _references(text)
    digits = text[1:] if text[:1] in "Dd" else text
    if digits.isdecimal() and len(digits) <= 9:
        found |= Q(number=int(digits))
    return found
