"""Everything of a file into the database, in one transaction: all or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db import connection

from inventory.models import Batch, Piece
from inventory.models.pieces import Standing
from inventory.services.audit import leave_row
from inventory.services.bulk import insert_rows, moment, reserve_ids
from inventory.services.deliveries import add_batch, receive_delivery
from inventory.services.importing.matching import measured_in
from inventory.services.importing.refusals import NotReady
from inventory.services.importing.stored_readings import write_inspections, write_readings
from inventory.services.importing.stored_verdicts import write_verdicts
from inventory.services.numbers import next_numbers

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from inventory.models import Delivery, ImportRun, Shop, User
    from inventory.services.importing.books import Books
    from inventory.services.importing.judging import Judged
    from inventory.services.importing.pieces import Pieces
    from inventory.services.progress import Tell

PIECE = [
    "id",
    "number",
    "batch",
    "size_label",
    "colour",
    "carton",
    "maker_reference",
    "standing",
    "created_at",
]


def store_pieces(
    pieces: Pieces,
    judged: list[Judged],
    books: Books,
    *,
    run: ImportRun,
    shop: Shop,
    unit: str,
    by: User,
    at: dt.datetime,
    tell: Tell,
) -> dict[str, Any]:  # Any: what JSON can hold
    """Write deliveries, batches, pieces, sittings, readings and verdicts; return their numbers.

    Call inside the transaction that closes the run. A piece with nothing read gets no sitting; one with
    something missing keeps its sitting open, to be finished at the bench.
    """
    batches = _batches(pieces, by=by, at=at)
    _check_still_unmeasured(pieces)
    now = moment(at)
    piece_ids, numbers = _pieces(pieces, batches, now=now)
    sittings = write_inspections(pieces, judged, piece_ids, run=run, unit=unit, at=at)
    readings = write_readings(pieces, books, sittings, now=now, at=at, tell=tell)
    tell(92, "storing verdicts")
    verdicts = write_verdicts(judged, batches, piece_ids, sittings, shop=shop, by=by, at=at)
    for place, batch in enumerate(batches):
        count = pieces.group.count(place)
        leave_row(who=by, deed="import pieces", subject=batch, at=at, file=run.file_name, pieces=count)
    return {
        "deliveries": sorted({batch.delivery.number for batch in batches}),
        "batches": [batch.number for batch in batches],
        "pieces": len(pieces),
        "numbered_before": len(pieces) - len(numbers),
        "first_piece": numbers[0] if numbers else None,
        "last_piece": numbers[-1] if numbers else None,
        "inspections": sum(one is not None for one in sittings),
        "readings": readings,
        "verdicts": verdicts,
    }


def _check_still_unmeasured(pieces: Pieces) -> None:
    """Since the file was read somebody may have begun to measure a piece of it, or corrected its size."""
    batch = pieces.groups[0].batch
    if batch is None:
        return
    # On SQLite the transaction holds the write lock; elsewhere a sitting is opened under the piece's lock.
    held = Piece.objects.select_for_update() if connection.features.has_select_for_update else Piece.objects
    size_of = dict(held.filter(batch=batch).values_list("pk", "size_label"))
    wanted = {pk: size for pk, size in zip(pieces.existing, pieces.size, strict=True) if pk is not None}
    if wanted.keys() & measured_in(batch) or any(size_of.get(pk) != size for pk, size in wanted.items()):
        raise NotReady(
            f"Pieces of {batch.label} were measured or corrected since the check. Check the file again."
        )


def _pieces(
    pieces: Pieces,
    batches: Sequence[Batch],
    *,
    now: Any,  # Any: a moment as the database takes it
) -> tuple[list[int], range]:
    """The key of every piece, those numbered before included, and the numbers of the new ones."""
    count = pieces.existing.count(None)
    numbers = next_numbers("last_piece_number", count=count)
    new = iter(reserve_ids(Piece, count))
    keys = [next(new) if pk is None else pk for pk in pieces.existing]
    rows = zip(
        keys,
        (batches[place].pk for place in pieces.group),
        pieces.size,
        pieces.colour,
        pieces.carton,
        pieces.reference,
        pieces.existing,
        strict=True,
    )
    fresh = (row[:-1] for row in rows if row[-1] is None)
    insert_rows(
        Piece,
        PIECE,
        (
            (pk, number, *rest, Standing.HOLD.value, now)
            for number, (pk, *rest) in zip(numbers, fresh, strict=True)
        ),
    )
    return keys, numbers


def _batches(pieces: Pieces, *, by: User, at: dt.datetime) -> list[Batch]:
    deliveries: dict[tuple[Any, ...], Delivery] = {}
    batches = []
    for group in pieces.groups:
        assert group.maker is not None  # a file with errors is not stored
        assert group.style is not None
        if group.batch is not None:
            batches.append(group.batch)
            continue
        key = (group.maker.pk, group.order, group.arrived_on)
        if group.delivery is not None:
            deliveries[key] = group.delivery
        if key not in deliveries:
            deliveries[key] = receive_delivery(
                maker=group.maker, arrived_at=group.arrived_on, order_reference=group.order, by=by, at=at
            )
        batches.append(
            add_batch(
                delivery=deliveries[key],
                style=group.style,
                spec=group.judged_by,
                cutting_reference=group.cutting,
                by=by,
                at=at,
            )
        )
    return batches
