"""The map of a batch on paper: pieces down, points across, in bands of as many points as the paper holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from inventory.queries.batch_verdicts import BatchPicture, PieceLine
    from inventory.queries.verdict_cells import Cell
    from reports.queries.relabelled import Relabelling

MOST_UPRIGHT: Final = 7  # points beside each other on upright paper, with fractions of an inch
MOST_ACROSS: Final = 14  # and on paper laid on its side
ASPECT_WORDS: Final = {"L": "L", "R": "R", "F": "full", "D": "L\N{MINUS SIGN}R"}


@dataclass(frozen=True, slots=True)
class BandLine:
    """One piece in one band: each cell with what it is of; `relabelled` are its re-labels, oldest first."""

    piece: PieceLine
    cells: Sequence[tuple[Cell, str] | None]
    relabelled: Sequence[Relabelling]


@dataclass(frozen=True, slots=True)
class Band:
    """Some of the points, with all pieces."""

    codes: Sequence[str]
    lines: Sequence[BandLine]


def bands(picture: BatchPicture, relabelled: Mapping[int, Sequence[Relabelling]]) -> list[Band]:
    """The map in bands of equal width, so that no figure runs into the next."""
    most = MOST_ACROSS if lies_across(picture) else MOST_UPRIGHT
    return [
        Band(
            codes=picture.codes[start : start + most],
            lines=[
                BandLine(line, _cells(line, start, start + most), relabelled.get(line.pk, ()))
                for line in picture.lines
            ],
        )
        for start in range(0, max(len(picture.codes), 1), most)
    ]


def lies_across(picture: BatchPicture) -> bool:
    """Whether the points need the width of paper laid on its side."""
    return len(picture.codes) > MOST_UPRIGHT


def _cells(line: PieceLine, start: int, end: int) -> list[tuple[Cell, str] | None]:
    return [
        None if cell is None else (cell, ASPECT_WORDS.get(cell.aspect, "")) for cell in line.cells[start:end]
    ]
