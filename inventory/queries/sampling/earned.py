"""What a maker has earned with a style: clean batches in a row, less to measure, points that rest."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from inventory.calc.sampling.earned import Outcome, Points, Policy, Standing, points_due, standing_after
from inventory.models import Batch, BatchDecision, PieceVerdict
from inventory.queries.batches import counts_of

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from inventory.models import MeasurePoint, SamplingScheme, Shop

_LOOKED_AT = 30  # batches; more in a row than any policy asks for


def policy_of(shop: Shop, scheme: SamplingScheme | None) -> Policy:
    """What the shop and the agreement set."""
    turns = 1 if scheme is None or scheme.rota_batches is None else scheme.rota_batches
    return Policy(measure_all_up_to=shop.measure_all_up_to, turns=max(turns, 1))


def standing_of(batch: Batch) -> tuple[Standing, int]:
    """Clean batches in a row before this one, and how many batches of maker and style came before it."""
    maker_id, style_id = batch.delivery.maker_id, batch.style_id
    came_before = _batches_of(maker_id, style_id).filter(number__lt=batch.number).count()
    return standing_before(maker_id, style_id, number=batch.number), came_before


def standing_before(maker_id: int, style_id: int, *, number: int | None = None) -> Standing:
    """Clean batches in a row of a maker and style, all or those before a number.

    A batch counts once it is decided by its sample, or every piece of it is judged. Three statements.
    """
    earlier = _batches_of(maker_id, style_id)
    if number is not None:
        earlier = earlier.filter(number__lt=number)
    looked_at = list(earlier.order_by("-number").values_list("pk", flat=True)[:_LOOKED_AT])
    return standing_after(_outcomes(list(reversed(looked_at))))


def _batches_of(maker_id: int, style_id: int) -> QuerySet[Batch]:
    return Batch.objects.filter(delivery__maker=maker_id, style=style_id)


def _outcomes(batch_ids: Sequence[int]) -> list[Outcome]:
    counts = counts_of(batch_ids)
    decided = dict(
        BatchDecision.objects.filter(sampling__batch__in=batch_ids).values_list(
            "sampling__batch_id", "outcome"
        )
    )
    ended = []
    for batch_id in batch_ids:
        found = counts[batch_id]
        if batch_id in decided:
            accepted = decided[batch_id] == BatchDecision.Outcome.ACCEPTED
            ended.append(Outcome(accepted=accepted, readings_out=found.shelf["out"]))
        elif found.pieces and not found.to_measure:
            ended.append(Outcome(accepted=True, readings_out=found.shelf["out"]))
    return ended


def points_of(
    points: Sequence[MeasurePoint],
    *,
    came_before: int,
    policy: Policy,
    standing: Standing,
    bad_seen: bool = False,
) -> Points:
    """Which points of a batch are measured by the rota; `points` in walk order."""
    return points_due(
        [point.code for point in points if not point.is_secondary],
        [point.code for point in points if point.is_secondary],
        batch_number=came_before,
        policy=policy,
        standing=standing,
        bad_seen=bad_seen,
    )


def a_reading_is_out(batch_id: int) -> bool:
    """Whether a current verdict of the batch is out of tolerance."""
    return PieceVerdict.objects.filter(piece__batch=batch_id, is_current=True, shelf="out").exists()
