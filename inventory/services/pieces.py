"""Give every garment a number of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from django.db import transaction

from inventory.access import Deed, require
from inventory.models import Piece
from inventory.models.pieces import Standing
from inventory.services.audit import leave_row
from inventory.services.numbers import next_numbers
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Batch, User

MOST_AT_ONCE: Final = 5_000


class CannotNumber(Refused):
    """The table of sizes, colours and counts cannot become pieces; `row` counts from 0, None: the whole."""

    def __init__(self, sentence: str, *, row: int | None = None) -> None:
        super().__init__(sentence)
        self.row = row


@dataclass(frozen=True, slots=True)
class PieceCount:
    """So many pieces of one size and colour, from one carton."""

    size_label: str
    count: int
    colour: str = ""
    carton: str = ""


@transaction.atomic
def number_pieces(*, batch: Batch, counts: Sequence[PieceCount], by: User, at: dt.datetime) -> list[Piece]:
    """Number the pieces of a table of counts in its order; all start on hold. Raises `CannotNumber`."""
    require(by, Deed.RECEIVE)
    _check_counts(counts, sizes=list(batch.spec.sizes.values_list("label", flat=True)), batch=batch)
    rows = [row for row in counts for _ in range(row.count)]
    numbers = next_numbers("last_piece_number", count=len(rows))
    pieces = Piece.objects.bulk_create(
        Piece(
            number=number,
            batch=batch,
            size_label=row.size_label,
            colour=row.colour.strip(),
            carton=row.carton.strip(),
            standing=Standing.HOLD,
            created_at=at,
        )
        for number, row in zip(numbers, rows, strict=True)
    )
    first, last = numbers[0], numbers[-1]
    leave_row(who=by, deed="number pieces", subject=batch, at=at, first=first, last=last, count=len(rows))
    return pieces


def _check_counts(counts: Sequence[PieceCount], *, sizes: Sequence[str], batch: Batch) -> None:
    for place, row in enumerate(counts):
        if row.size_label not in sizes:
            raise CannotNumber(
                f"Size {row.size_label!r} is not in spec {batch.spec}, which has {', '.join(sizes)}. "
                "Nothing was numbered. Choose one of these, or name another spec revision for the batch.",
                row=place,
            )
        if row.count < 1:
            raise CannotNumber(f"Size {row.size_label}: {row.count} pieces is no count. Type 1 or more.")
        _check_length("Colour", row.colour, most=40)
        _check_length("Carton", row.carton, most=20)
    total = sum(row.count for row in counts)
    if total == 0:
        raise CannotNumber("No pieces to number. Type how many there are of at least one size.")
    if total > MOST_AT_ONCE:
        raise CannotNumber(
            f"{total} pieces at once are more than {MOST_AT_ONCE}. Look for a slip, or number them in parts."
        )


def _check_length(name: str, text: str, *, most: int) -> None:
    if len(text.strip()) > most:
        raise CannotNumber(f"{name} {text.strip()!r} is longer than {most} characters. Shorten it.")
