"""Which verdicts were given, and everything one was judged on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.models import PieceVerdict

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from inventory.models import Batch


def verdicts_matching(
    *,
    batch: Batch | None = None,
    piece_number: int | None = None,
    shelf: str = "",
    claim: str = "",
    current_only: bool = True,
) -> QuerySet[PieceVerdict]:
    """Verdicts without their findings, oldest first; earlier ones of a piece only when asked for."""
    wanted = {
        "piece__batch": batch,
        "piece__number": piece_number,
        "shelf": shelf,
        "claim": claim,
        "is_current": current_only,
    }
    return (
        PieceVerdict.objects.filter(**{name: value for name, value in wanted.items() if value})
        .select_related("piece", "basis", "judged_by")
        .defer("findings", "basis__document")
        .order_by("pk")
    )


def verdict_by_id(pk: int) -> PieceVerdict | None:
    """One verdict with its findings and all they were judged on."""
    return (
        PieceVerdict.objects.select_related("piece__batch__delivery", "basis__spec", "judged_by")
        .filter(pk=pk)
        .first()
    )
