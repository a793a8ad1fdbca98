"""What an inspection sheet says of a piece, gathered for many pieces in a constant number of queries."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Prefetch, QuerySet

from inventory.models import Defect, Disposition, Inspection, Piece, PieceVerdict, Reading
from inventory.queries.point_table import PointRow, point_rows
from reports.queries.relabelled import Relabelling, relabellings_of
from reports.queries.single_readings import SideReadings, as_typed, read_more_than_once

if TYPE_CHECKING:
    from inventory.models import Batch

CHUNK = 50  # pieces whose readings are held in memory at once


@dataclass(frozen=True, slots=True)
class Footnote:
    """A reading that was corrected: what it was, what it became, why, by whom and when."""

    code: str
    side: str
    typed: str
    became: str
    reason: str
    who: str
    at: dt.datetime


@dataclass(frozen=True, slots=True)
class WorkingNote:
    """A reading for which the level was found, or a slant taken out, and what came out."""

    code: str
    side: str
    typed: str
    document: dict[str, Any]  # Any: JSON


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
    repeats: Sequence[SideReadings]
    footnotes: Sequence[Footnote]
    workings: Sequence[WorkingNote]
    relabelled: Sequence[Relabelling]
    defects: Sequence[Defect]
    disposition: Disposition | None

    @property
    def judged_size(self) -> str:
        """The size the verdict was given by, which a re-label leaves behind; empty when not judged."""
        return "" if self.verdict is None else self.verdict.basis.size_label

    @property
    def to_measure_again(self) -> bool:
        """Whether the figures are of a size the piece no longer carries."""
        return self.judged_size not in {"", self.piece.size_label}


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
    relabelled = relabellings_of(piece.pk for piece in pieces)
    return [
        _sheet(
            piece,
            verdicts.get(piece.pk),
            sittings.get(piece.pk),
            relabelled=relabelled.get(piece.pk, ()),
            defects=defects[piece.pk],
            decision=decisions.get(piece.pk),
        )
        for piece in pieces
    ]


def _sheet(
    piece: Piece,
    verdict: PieceVerdict | None,
    sitting: Inspection | None,
    *,
    relabelled: Sequence[Relabelling],
    defects: Sequence[Defect],
    decision: Disposition | None,
) -> PieceSheet:
    readings = list(sitting.readings.all()) if sitting is not None else []
    unit = sitting.unit if sitting is not None else ""
    tapes = {str(reading.instrument) for reading in readings if reading.instrument is not None}
    return PieceSheet(
        piece=piece,
        verdict=verdict,
        rows=point_rows(verdict, piece.batch) if verdict is not None else (),
        people=sorted({reading.taken_by.shown_name for reading in readings}),
        measured_on=max((reading.taken_at for reading in readings), default=None),
        instruments=sorted(tapes),
        piece_state=sitting.get_piece_state_display() if sitting is not None else "",
        unit=unit,
        repeats=read_more_than_once(readings, unit=unit),
        footnotes=_footnotes(readings, unit=unit),
        workings=[
            WorkingNote(reading.point.code, reading.side, as_typed(reading, unit=unit), reading.working)
            for reading in readings
            if reading.working
        ],
        relabelled=relabelled,
        defects=defects,
        disposition=decision,
    )


def _footnotes(readings: Sequence[Reading], *, unit: str) -> list[Footnote]:
    by_id = {reading.pk: reading for reading in readings}
    return [
        Footnote(
            code=reading.point.code,
            side=reading.side,
            typed=as_typed(by_id[reading.corrects_id], unit=unit),
            became=as_typed(reading, unit=unit),
            reason=reading.reason,
            who=reading.taken_by.shown_name,
            at=reading.taken_at,
        )
        for reading in readings
        if reading.corrects_id in by_id
    ]
