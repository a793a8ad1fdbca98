"""What an inspection sheet says of a piece, gathered for many pieces in a constant number of queries."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Prefetch, QuerySet

from inventory.models import Defect, Disposition, Inspection, Piece, PieceVerdict, Reading
from inventory.queries.point_table import PointRow, point_rows

if TYPE_CHECKING:
    from inventory.models import Batch

CHUNK = 50  # pieces whose readings are held in memory at once


@dataclass(frozen=True, slots=True)
class Footnote:
    """A reading that was corrected: what it was, what it became, and why."""

    code: str
    side: str
    typed: str
    became: str
    reason: str


@dataclass(frozen=True, slots=True)
class PieceSheet:
    """Everything printed on the sheet of one piece."""

    piece: Piece
    verdict: PieceVerdict | None
    rows: Sequence[PointRow]
    people: Sequence[str]
    measured_on: dt.datetime | None
    instruments: Sequence[str]
    piece_state: str
    unit: str
    footnotes: Sequence[Footnote]
    defects: Sequence[Defect]
    disposition: Disposition | None


def sheet_of(piece: Piece) -> PieceSheet:
    """The sheet of one piece."""
    return _sheets([piece])[0]


def sheets_of(batch: Batch) -> Iterator[PieceSheet]:
    """The sheets of a batch in label order, a chunk of pieces at a time."""
    after = 0
    while pieces := list(_pieces().filter(batch=batch, number__gt=after).order_by("number")[:CHUNK]):
        yield from _sheets(pieces)
        after = pieces[-1].number


def _pieces() -> QuerySet[Piece]:
    return Piece.objects.select_related(
        "batch__style", "batch__spec__style", "batch__delivery__maker", "batch__delivery"
    )


def _sheets(pieces: Sequence[Piece]) -> list[PieceSheet]:
    verdicts = {
        verdict.piece_id: verdict
        for verdict in PieceVerdict.objects.filter(piece__in=pieces, is_current=True).select_related(
            "basis", "judged_by"
        )
    }
    readings = Reading.objects.select_related("point", "taken_by", "instrument").order_by("id")
    sittings: dict[int, Inspection] = {}
    for sitting in (
        Inspection.objects.filter(piece__in=pieces)
        .select_related("instrument", "opened_by")
        .prefetch_related(Prefetch("readings", readings))
        .order_by("id")
    ):
        judged = verdicts.get(sitting.piece_id)
        if judged is None or judged.inspection_id == sitting.pk:
            sittings[sitting.piece_id] = sitting
    defects: defaultdict[int | None, list[Defect]] = defaultdict(list)
    for defect in Defect.objects.filter(piece__in=pieces).prefetch_related("photos").order_by("id"):
        defects[defect.piece_id].append(defect)
    decisions = {
        row.piece_id: row
        for row in Disposition.objects.filter(piece__in=pieces).select_related("decided_by").order_by("id")
    }
    return [
        _sheet(
            piece, verdicts.get(piece.pk), sittings.get(piece.pk), defects[piece.pk], decisions.get(piece.pk)
        )
        for piece in pieces
    ]


def _sheet(
    piece: Piece,
    verdict: PieceVerdict | None,
    sitting: Inspection | None,
    defects: Sequence[Defect],
    decision: Disposition | None,
) -> PieceSheet:
    readings = list(sitting.readings.all()) if sitting is not None else []
    tapes = {str(reading.instrument) for reading in readings if reading.instrument is not None}
    return PieceSheet(
        piece=piece,
        verdict=verdict,
        rows=point_rows(verdict, piece.batch) if verdict is not None else (),
        people=sorted({reading.taken_by.shown_name for reading in readings}),
        measured_on=max((reading.taken_at for reading in readings), default=None),
        instruments=sorted(tapes),
        piece_state=sitting.get_piece_state_display() if sitting is not None else "",
        unit=sitting.unit if sitting is not None else "",
        footnotes=_footnotes(readings),
        defects=defects,
        disposition=decision,
    )


def _footnotes(readings: Sequence[Reading]) -> list[Footnote]:
    by_id = {reading.pk: reading for reading in readings}
    return [
        Footnote(
            code=reading.point.code,
            side=reading.side,
            typed=by_id[reading.corrects_id].typed,
            became=reading.typed,
            reason=reading.reason,
        )
        for reading in readings
        if reading.corrects_id in by_id
    ]
