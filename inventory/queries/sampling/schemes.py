"""What was agreed on sampling: with a maker for a style, with a maker, or for the whole shop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db.models import F, Q

from inventory.models import SamplingScheme

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from inventory.models import Batch, Maker, Style


def scheme_for(maker_id: int, style_id: int) -> SamplingScheme | None:
    """What holds for a maker and a style: the newest of the closest; None when nothing was ever set.

    What is set for maker and style goes before what is set for the maker, and that before the shop's own.
    """
    holds = (
        Q(maker=maker_id, style=style_id)
        | Q(maker=maker_id, style=None)
        | Q(maker__isnull=True, style__isnull=True)
    )
    closest_first = (F("style").asc(nulls_last=True), F("maker").asc(nulls_last=True), "-id")
    return _schemes().filter(holds).order_by(*closest_first).first()


def scheme_of_batch(batch: Batch) -> SamplingScheme | None:
    """What holds for a batch; `batch.delivery` should be loaded."""
    return scheme_for(batch.delivery.maker_id, batch.style_id)


def schemes_set_for(maker: Maker | None, style: Style | None) -> QuerySet[SamplingScheme]:
    """Everything that was ever set at just this place, newest first."""
    return _schemes().filter(maker=maker, style=style).order_by("-id")


def schemes_of_maker(maker: Maker) -> list[SamplingScheme]:
    """What holds now for a maker: for all styles first, then for single ones."""
    newest: dict[int | None, SamplingScheme] = {}
    for scheme in _schemes().filter(maker=maker).order_by("id"):
        newest[scheme.style_id] = scheme
    return sorted(newest.values(), key=lambda scheme: scheme.style.code if scheme.style else "")


def _schemes() -> QuerySet[SamplingScheme]:
    return SamplingScheme.objects.select_related("maker", "style", "point", "set_by")
