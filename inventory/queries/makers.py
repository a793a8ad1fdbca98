"""Makers, and what came from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Count, Max

from inventory.models import Delivery, Maker

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from django.db.models import QuerySet


@dataclass(frozen=True, slots=True)
class MakerLine:
    """A maker in the list, with how many deliveries came and when the last one arrived."""

    maker: Maker
    deliveries: int
    last_arrival: dt.datetime | None


def maker_lines(*, with_retired: bool = False) -> list[MakerLine]:
    """All makers by name, in one query; those no longer used only when asked for."""
    makers = Maker.objects.annotate(
        delivery_count=Count("deliveries"), last_arrival=Max("deliveries__arrived_at")
    ).order_by("name")
    if not with_retired:
        makers = makers.filter(is_active=True)
    return [MakerLine(maker, maker.delivery_count, maker.last_arrival) for maker in makers]


def makers(*, with_retired: bool = False) -> QuerySet[Maker]:
    """All makers; those no longer used only when asked for."""
    return Maker.objects.all() if with_retired else Maker.objects.filter(is_active=True)


def maker_by_code(code: str) -> Maker | None:
    """A maker by code, in whatever case it was typed."""
    return Maker.objects.filter(code__iexact=code).first()


def latest_deliveries_of(maker: Maker, *, most: int = 10) -> Sequence[Delivery]:
    """The newest deliveries of a maker, with how many batches each held."""
    found: QuerySet[Delivery] = maker.deliveries.annotate(batch_count=Count("batches"))
    return list(found.order_by("-arrived_at", "-id")[:most])
