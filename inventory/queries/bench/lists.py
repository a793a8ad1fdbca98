"""What is still to measure, which sittings are in progress, which piece comes next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Subquery

from inventory.models import Batch, Inspection, Piece, PieceVerdict
from inventory.models.pieces import Standing
from inventory.queries.sampling.asked_for import asked_for
from inventory.queries.sampling.standing import sampling_of, standing_of_sample

if TYPE_CHECKING:
    import datetime as dt


@dataclass(frozen=True, slots=True)
class BatchToMeasure:
    """A batch with pieces nobody has judged yet; `first` is the number of the first of them.

    Of a sampled batch only the pieces of the sample count.
    """

    batch: Batch
    waiting: int
    pieces: int
    first: int

    @property
    def judged(self) -> int:
        """How many of its pieces need no more measuring."""
        return self.pieces - self.waiting


@dataclass(frozen=True, slots=True)
class SittingInProgress:
    """A sitting that was begun and not finished, with the number of readings so far."""

    number: int
    label: str
    style: str
    size_label: str
    opened_by: str
    opened_at: dt.datetime
    readings: int


def unmeasured() -> QuerySet[Piece]:
    """Pieces on hold that have no verdict yet, and are asked for where the batch is sampled."""
    judged = PieceVerdict.objects.filter(piece=OuterRef("pk"), is_current=True)
    return Piece.objects.filter(asked_for(), ~Exists(judged), standing=Standing.HOLD)


IN_TURN = (F("drawn__position").asc(nulls_last=True), "number")
"""The order in which pieces are measured: a sample in the order of the draw, others by number."""


def batches_to_measure(*, most: int = 20) -> list[BatchToMeasure]:
    """The newest batches with pieces still to measure. Three queries, however many pieces."""
    waiting = unmeasured().values("batch_id").annotate(waiting=Count("pk")).order_by("-batch_id")[:most]
    found = {row["batch_id"]: row["waiting"] for row in waiting}
    first = unmeasured().filter(batch=OuterRef("pk")).order_by(*IN_TURN).values("number")[:1]
    batches = (
        Batch.objects.filter(pk__in=found)
        .annotate(first=Subquery(first))
        .select_related("style", "delivery__maker")
    )
    pieces = dict(
        Piece.objects.filter(asked_for(), batch__in=found)
        .values_list("batch_id")
        .annotate(pieces=Count("pk"))
        .order_by("batch_id")
    )
    return [
        BatchToMeasure(
            batch=batch,
            waiting=found[batch.pk],
            pieces=pieces[batch.pk],
            first=batch.first,
        )
        for batch in batches.order_by("-number")
    ]


def sittings_in_progress(*, most: int = 20) -> list[SittingInProgress]:
    """The sittings begun and not finished, newest first. One query."""
    rows = (
        Inspection.objects.filter(finished_at=None)
        .annotate(taken=Count("readings", filter=Q(readings__corrections=None)))
        .select_related("piece__batch__style", "opened_by")
        .order_by("-opened_at", "-pk")[:most]
    )
    return [
        SittingInProgress(
            number=row.piece.number,
            label=row.piece.label,
            style=str(row.piece.batch.style),
            size_label=row.piece.size_label,
            opened_by=row.opened_by.shown_name,
            opened_at=row.opened_at,
            readings=row.taken,
        )
        for row in rows
    ]


def next_piece_of(piece: Piece) -> Piece | None:
    """The next piece of the same batch to measure: by number after this one, then from the start again.

    Of a sampled batch in the order of the draw, and none once the sample has decided.
    """
    sampling = sampling_of(piece.batch)
    if sampling is not None and not hasattr(sampling, "decision"):
        standing = standing_of_sample(piece.batch, sampling)
        if standing.may_stop:
            return None
    return (
        unmeasured()
        .filter(batch_id=piece.batch_id)
        .exclude(pk=piece.pk)
        .annotate(behind=Q(number__lt=piece.number))
        .order_by(F("drawn__position").asc(nulls_last=True), "behind", "number")
        .first()
    )


def current_verdict_of(piece: Piece) -> PieceVerdict | None:
    """The verdict that stands for a piece, with its basis and its sitting; None before the first."""
    return (
        PieceVerdict.objects.filter(piece=piece, is_current=True)
        .select_related("basis", "inspection", "judged_by")
        .first()
    )
