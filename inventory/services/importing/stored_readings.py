"""Sittings and readings of a file into the database; a sitting that is not whole stays open."""

from __future__ import annotations

from itertools import chain, repeat
from typing import TYPE_CHECKING, Any

import numpy as np

from inventory.models import Inspection, Reading
from inventory.models.inspections import PieceState, Source
from inventory.services.bulk import insert_rows, moment, reserve_ids
from inventory.services.progress import counted

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from inventory.models import ImportRun, Spec
    from inventory.services.importing.books import Books
    from inventory.services.importing.judging import Judged
    from inventory.services.importing.pieces import Pieces, Readings
    from inventory.services.progress import Tell

Sittings = list[int | None]
"""The sitting of each piece; None where nothing was read."""
Row = tuple[Any, ...]  # Any: values as the database takes them

INSPECTION = [
    "id", "piece", "piece_state", "source", "unit", "instrument", "opened_by", "opened_at", "finished_at",
    "blind", "import_run",
]  # fmt: skip
READING = [
    "id", "inspection", "point", "side", "repeat", "typed", "unit", "length_nm", "instrument", "taken_by",
    "taken_at", "recorded_at", "piece_state", "reason", "note",
]  # fmt: skip


def write_inspections(
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
    moments = moments_of(pieces, at)
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


def moments_of(pieces: Pieces, at: dt.datetime) -> list[dt.datetime]:
    """When each piece was measured; the day it arrived where the file does not say."""
    return [
        taken or min(pieces.groups[group].arrived_on, at)
        for taken, group in zip(pieces.taken_at, pieces.group, strict=True)
    ]


def write_readings(
    pieces: Pieces, books: Books, sittings: Sittings, *, now: Any, at: dt.datetime, tell: Tell
) -> int:  # Any: a moment as the database takes it
    """Every reading of every piece; return how many. `at` is now, for pieces without a day of measuring."""
    columns = sorted(pieces.readings, key=lambda one: one.repeat)
    count = sum(int((one.nm >= 0).sum()) for one in columns)
    ids = reserve_ids(Reading, count)
    arrived = moments_of(pieces, at)
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
