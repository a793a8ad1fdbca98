"""Who did what to a piece, a batch or a delivery, and when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db.models import Q, QuerySet

from inventory.models import AuditRow, Inspection, Reading, SlipQuestion

if TYPE_CHECKING:
    from inventory.models import Batch, Delivery, Piece


def history_of_piece(piece: Piece) -> QuerySet[AuditRow]:
    """All that was done to a piece, newest first, from its numbering to the decisions."""
    sittings = Inspection.objects.filter(piece=piece).values("pk")
    readings = Reading.objects.filter(inspection__piece=piece).values("pk")
    questions = SlipQuestion.objects.filter(reading__inspection__piece=piece).values("pk")
    numbered = Q(
        subject_type="batch",
        subject_id=piece.batch_id,
        deed="number pieces",
        detail__first__lte=piece.number,
        detail__last__gte=piece.number,
    )
    return _rows(
        _about("piece", piece.pk)
        | Q(subject_type="inspection", subject_id__in=sittings)
        | Q(subject_type="reading", subject_id__in=readings)
        | Q(subject_type="slipquestion", subject_id__in=questions)
        | Q(subject_type="defect", subject_id__in=piece.defects.values("pk"))
        | numbered
    )


def history_of_batch(batch: Batch) -> QuerySet[AuditRow]:
    """What was done to the batch itself, newest first; what was done to one piece is the piece's."""
    defects = Q(subject_type="defect", subject_id__in=batch.defects.filter(piece=None).values("pk"))
    return _rows(_about("batch", batch.pk) | defects)


def history_of_delivery(delivery: Delivery) -> QuerySet[AuditRow]:
    """What was done to the delivery and to its batches, newest first."""
    batches = Q(subject_type="batch", subject_id__in=delivery.batches.values("pk"))
    return _rows(_about("delivery", delivery.pk) | batches)


def rows_matching(
    *, subject_type: str = "", subject_id: int | None = None, deed: str = "", who: str = ""
) -> QuerySet[AuditRow]:
    """Everything that was done, narrowed to what is named."""
    wanted = {"subject_type": subject_type, "subject_id": subject_id, "deed": deed, "who__username": who}
    return _rows(Q(**{name: value for name, value in wanted.items() if value}))


def _about(subject_type: str, pk: int) -> Q:
    return Q(subject_type=subject_type, subject_id=pk)


def _rows(found: Q) -> QuerySet[AuditRow]:
    return AuditRow.objects.filter(found).select_related("who").order_by("-id")
