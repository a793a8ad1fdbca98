"""Everything of a file into the database, in one transaction: all or nothing."""

from __future__ import annotations

from itertools import chain, repeat
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from django.db import connection

from inventory.models import Batch, Inspection, Piece, PieceVerdict, Reading
from inventory.models.inspections import PieceState, Source
from inventory.models.pieces import Standing
from inventory.services.audit import leave_row
from inventory.services.bulk import insert_rows, moment, reserve_ids
from inventory.services.deliveries import add_batch, receive_delivery
from inventory.services.importing.matching import measured_in
from inventory.services.importing.refusals import NotReady
from inventory.services.judging import basis_for
from inventory.services.numbers import next_numbers
from inventory.services.progress import counted

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from inventory.models import Delivery, ImportRun, Shop, Spec, User
    from inventory.services.importing.books import Books
    from inventory.services.importing.judging import Judged
    from inventory.services.importing.pieces import Pieces, Readings
    from inventory.services.progress import Tell

CURRENT: Final = True
Sittings = list[int | None]
"""The sitting of each piece; None where nothing was read."""
Row = tuple[Any, ...]  # Any: values as the database takes them

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
INSPECTION = [
    "id", "piece", "piece_state", "source", "unit", "instrument", "opened_by", "opened_at", "finished_at",
    "blind", "import_run",
]  # fmt: skip
READING = [
    "id", "inspection", "point", "side", "repeat", "typed", "unit", "length_nm", "instrument", "taken_by",
    "taken_at", "recorded_at", "piece_state", "reason", "note",
]  # fmt: skip
VERDICT = [
    "id", "piece", "inspection", "basis", "is_current", "shelf", "claim", "worst_point", "worst_aspect",
    "size_suspected", "fits_size", "size_margin_nm", "findings", "judged_by", "judged_at",
]  # fmt: skip


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
    sittings = _inspections(pieces, judged, piece_ids, run=run, unit=unit, at=at)
    readings = _readings(pieces, books, sittings, now=now, at=at, tell=tell)
    tell(92, "storing verdicts")
    verdicts = _verdicts(judged, batches, piece_ids, sittings, shop=shop, by=by, at=at)
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


def _inspections(
    pieces: Pieces,
    judged: list[Judged],
    piece_ids: Sequence[int],
    *,
    run: ImportRun,
    unit: str,
    at: dt.datetime,
) -> Sittings:
    """A sitting for each piece of which anything was read; its id by piece."""
    read = np.zeros(len(pieces), np.bool_)
    for column in pieces.readings:
        read |= column.nm >= 0
    whole = np.zeros(len(pieces), np.bool_)
    for one in judged:
        whole[one.piece] = True
    ids = iter(reserve_ids(Inspection, int(read.sum())))
    sittings = [next(ids) if there else None for there in read.tolist()]
    moments = _moments_of(pieces, at)
    stamps = {taken: moment(taken) for taken in set(moments)}

    def rows() -> Iterator[Row]:
        for sitting, piece, tape, by, taken, is_whole in zip(
            sittings, piece_ids, pieces.tape, pieces.by, moments, whole.tolist(), strict=True
        ):
            if sitting is not None:
                stamp = stamps[taken]
                yield (
                    sitting, piece, PieceState.AS_RECEIVED.value, Source.IMPORT.value, unit, tape, by, stamp,
                    stamp if is_whole else None, False, run.pk,
                )  # fmt: skip

    insert_rows(Inspection, INSPECTION, rows())
    return sittings


def _moments_of(pieces: Pieces, at: dt.datetime) -> list[dt.datetime]:
    """When each piece was measured; the day it arrived where the file does not say."""
    return [
        taken or min(pieces.groups[group].arrived_on, at)
        for taken, group in zip(pieces.taken_at, pieces.group, strict=True)
    ]


def _readings(
    pieces: Pieces, books: Books, sittings: Sittings, *, now: Any, at: dt.datetime, tell: Tell
) -> int:  # Any: a moment as the database takes it
    columns = sorted(pieces.readings, key=lambda one: one.repeat)
    count = sum(int((one.nm >= 0).sum()) for one in columns)
    ids = reserve_ids(Reading, count)
    arrived = _moments_of(pieces, at)
    # Piece by piece, so that the index by sitting grows at its end; points in the order of the columns.
    woven = chain.from_iterable(
        zip(
            *(_rows_of(one, pieces, books, sittings=sittings, arrived=arrived, now=now) for one in columns),
            strict=True,
        )
    )
    read = (row for row in woven if row[6] >= 0)
    rows = ((number, *row) for number, row in zip(ids, read, strict=True))
    insert_rows(
        Reading, READING, counted(rows, tell=tell, first=55, last=92, total=count, words="storing readings")
    )
    return count


def _point_pk(books: Books, spec: Spec, code: str) -> int | None:
    """The key of a point; None in a batch whose style lacks it, where the check found no reading of it."""
    point = books.plans(spec).points.get(code)
    return None if point is None else point.pk


def _rows_of(
    one: Readings, pieces: Pieces, books: Books, *, sittings: Sittings, arrived: list[dt.datetime], now: Any
) -> Iterator[Row]:  # Any: a moment as the database takes it
    point_of = [_point_pk(books, group.judged_by, one.code) for group in pieces.groups]
    stamps = {taken: moment(taken) for taken in {*one.taken_at, *arrived}}
    taken = [stamps[mine or default] for mine, default in zip(one.taken_at, arrived, strict=True)]
    return zip(
        sittings,
        map(point_of.__getitem__, pieces.group),
        repeat(one.side),
        repeat(one.repeat),
        one.typed,
        one.unit,
        one.nm.tolist(),
        one.tape,
        one.by,
        taken,
        repeat(now),
        repeat(PieceState.AS_RECEIVED.value),
        repeat(""),
        one.note,
    )


def _verdicts(
    judged: list[Judged],
    batches: list[Batch],
    piece_ids: Sequence[int],
    sittings: Sittings,
    *,
    shop: Shop,
    by: User,
    at: dt.datetime,
) -> int:
    now = moment(at)
    count = sum(len(one.piece) for one in judged)
    ids = reserve_ids(PieceVerdict, count)
    batch_of = {batch.spec_id: batch for batch in batches}
    rows: list[Row] = []
    for one in judged:
        basis = basis_for(batch_of[one.spec.pk], one.size, one.plans, shop=shop, at=at).pk
        rows.extend(
            zip(
                ids[len(rows) : len(rows) + len(one.piece)],
                [piece_ids[piece] for piece in one.piece],
                [sittings[piece] for piece in one.piece],
                repeat(basis),
                repeat(CURRENT),
                one.shelf,
                one.claim,
                one.worst_point,
                one.worst_aspect,
                one.suspected,
                one.fits,
                one.margin_nm,
                one.findings,
                repeat(by.pk),
                repeat(now),
            )
        )
    insert_rows(PieceVerdict, VERDICT, sorted(rows, key=lambda row: row[1]))
    return count
