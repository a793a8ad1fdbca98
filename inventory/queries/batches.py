"""Which batches there are, and how far each is: counts by verdict and by standing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from django.db.models import Case, Count, Exists, F, FilteredRelation, OuterRef, Q, Subquery, Value, When

from inventory.models import Batch, Inspection, Piece, PieceVerdict
from inventory.models.pieces import Standing
from inventory.queries.pieces import MEASURED_AGAIN
from inventory.queries.sampling.asked_for import asked_for

if TYPE_CHECKING:
    from django.db.models import QuerySet

AGAIN: Final = "again"


@dataclass(slots=True)
class PieceCounts:
    """Pieces by current verdict and by standing.

    Of verdicts, the key "" stands for not judged yet, and "again" for what waits to be measured again,
    because its label was changed since: what was found says nothing of it now.
    """

    shelf: Counter[str] = field(default_factory=Counter)
    claim: Counter[str] = field(default_factory=Counter)
    standing: Counter[str] = field(default_factory=Counter)
    hold_by_shelf: Counter[str] = field(default_factory=Counter)

    @property
    def pieces(self) -> int:
        return self.shelf.total()

    @property
    def judged(self) -> int:
        return self.pieces - self.to_measure

    @property
    def to_judge(self) -> int:
        return self.shelf[""]

    @property
    def to_measure_again(self) -> int:
        return self.shelf[AGAIN]

    @property
    def to_measure(self) -> int:
        return self.to_judge + self.to_measure_again

    @property
    def on_hold(self) -> int:
        return self.standing[Standing.HOLD]

    def add(self, other: PieceCounts) -> None:
        """Count another group in."""
        self.shelf += other.shelf
        self.claim += other.claim
        self.standing += other.standing
        self.hold_by_shelf += other.hold_by_shelf


@dataclass(frozen=True, slots=True)
class BatchRow:
    """A batch in a list, with its counts."""

    batch: Batch
    counts: PieceCounts


def batch_by_number(number: int) -> Batch | None:
    """The batch with everything its page names, or None."""
    found = Batch.objects.select_related("style", "spec__style", "delivery__maker")
    return found.filter(number=number).first()


def batches_matching(
    *,
    text: str = "",
    maker_id: int | None = None,
    style_id: int | None = None,
    delivery_id: int | None = None,
    undecided: bool = False,
) -> QuerySet[Batch]:
    """Batches, newest first; `text` is looked for in label, order and cutting references."""
    found = Batch.objects.select_related("style", "spec__style", "delivery__maker")
    if maker_id is not None:
        found = found.filter(delivery__maker=maker_id)
    if style_id is not None:
        found = found.filter(style=style_id)
    if delivery_id is not None:
        found = found.filter(delivery=delivery_id)
    if text:
        found = found.filter(_mentions(text))
    if undecided:
        on_hold = Piece.objects.filter(batch=OuterRef("pk"), standing=Standing.HOLD)
        none_numbered = ~Exists(Piece.objects.filter(batch=OuterRef("pk")))
        found = found.filter(Exists(on_hold) | none_numbered)
    return found


def batches_in_measuring() -> QuerySet[Batch, Any]:  # Any: the annotated class exists only for mypy
    """Batches with a piece on hold that has no verdict yet, oldest arrival first.

    `next_number` is the number of the first such piece nobody has begun.
    """
    judged = PieceVerdict.objects.filter(piece=OuterRef("pk"), is_current=True)
    to_judge = Piece.objects.filter(
        asked_for(), ~Exists(judged), batch=OuterRef("pk"), standing=Standing.HOLD
    )
    to_begin = to_judge.filter(~Exists(Inspection.objects.filter(piece=OuterRef("pk"))))
    in_turn = (F("drawn__position").asc(nulls_last=True), "number")
    return (
        Batch.objects.select_related("style", "delivery__maker")
        .filter(Exists(to_judge))
        .annotate(next_number=Subquery(to_begin.order_by(*in_turn).values("number")[:1]))
        .order_by("delivery__arrived_at", "number")
    )


def rows_of(batches: Iterable[Batch]) -> list[BatchRow]:
    """The batches with their counts; one statement."""
    listed = list(batches)
    counts = counts_of([batch.pk for batch in listed])
    return [BatchRow(batch, counts[batch.pk]) for batch in listed]


def counts_of(batch_ids: Iterable[int]) -> dict[int, PieceCounts]:
    """Counts of each batch named, also of those without a piece; one statement."""
    counts = {batch_id: PieceCounts() for batch_id in batch_ids}
    groups = (
        Piece.objects.filter(batch__in=list(counts))
        .annotate(current=FilteredRelation("verdicts", condition=Q(verdicts__is_current=True)))
        .annotate(
            waits=Case(
                When(current__pk=None, then=Value("")),
                When(current__basis__size_label=F("size_label"), then=Value("")),
                When(standing__in=MEASURED_AGAIN, then=Value(AGAIN)),
                default=Value(""),
            )
        )
        .order_by()
        .values_list("batch_id", "standing", "waits", "current__shelf", "current__claim")
        .annotate(Count("id"))
    )
    for batch_id, standing, waits, found, provable, pieces in groups:
        of_batch = counts[batch_id]
        shelf, claim = waits or found, waits or provable
        of_batch.shelf[shelf or ""] += pieces
        of_batch.claim[claim or ""] += pieces
        of_batch.standing[standing] += pieces
        if standing == Standing.HOLD:
            of_batch.hold_by_shelf[shelf or ""] += pieces
    return counts


def _mentions(text: str) -> Q:
    found = Q(delivery__order_reference__icontains=text) | Q(cutting_reference__icontains=text)
    digits = text[1:] if text[:1] in "Bb" else text
    if digits.isdecimal() and len(digits) <= 9:
        found |= Q(number=int(digits))
    return found
