"""Figures in another unit than was said: told once for a file, a column or some rows, with the cure.

A file kept in centimetres and read as millimetres raises the same question at every figure. Where nearly all
figures of the file, of a column or of a row raise it, the question is about the unit and not about them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.calc.length import Unit
from inventory.calc.slips import SlipKind
from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.calc.judging.arrays import Flags
    from inventory.services.importing.pieces import Pieces
    from inventory.services.importing.report import Report

REALLY: Final = {
    SlipKind.INCH_FOR_CM: Unit.INCH,
    SlipKind.INCH_FOR_MM: Unit.INCH,
    SlipKind.CM_FOR_INCH: Unit.CM,
    SlipKind.CM_FOR_MM: Unit.CM,
    SlipKind.MM_FOR_INCH: Unit.MM,
    SlipKind.MM_FOR_CM: Unit.MM,
}
"""The unit a figure really is in, by the slip it looks like."""
NEARLY_ALL: Final = 0.8
"""From this share of its figures on a file, a column or a row is in another unit as a whole."""
FEWEST_IN_COLUMN: Final = 5
FEWEST_IN_ROW: Final = 3
_WORDS: Final = {Unit.MM: "millimetres", Unit.CM: "centimetres", Unit.INCH: "inches"}


def tell_other_units(looks: Mapping[SlipKind, Flags], pieces: Pieces, report: Report, *, wide: bool) -> Flags:
    """Note what is in another unit as a whole, and say which cells that answers for.

    `looks` says by slip which cells look like it, pieces down and columns of readings across. In the `wide`
    form a column has a unit of its own to choose.
    """
    read = cells_read(pieces)
    told: Flags = np.zeros(read.shape, np.bool_)
    for unit in Unit:
        like: Flags = np.logical_or.reduce([looks[kind] for kind, really in REALLY.items() if really is unit])
        if like.sum() >= max(NEARLY_ALL * read.sum(), FEWEST_IN_COLUMN):
            report.suspect_together(0, "file", int(like.sum()), _of_file(like, read, unit))
            return like
        told |= _columns(like, read, pieces, report, unit, wide=wide)
        told |= _rows(like & ~told, read, pieces, report, unit, wide=wide)
    return told


def cells_read(pieces: Pieces) -> Flags:
    """Which cells hold a reading: pieces down, columns of readings across."""
    return np.stack([one.nm >= 0 for one in pieces.readings], axis=1)


def whole_columns(like: Flags, read: Flags) -> Flags:
    """The columns of which nearly all figures look alike."""
    count = like.sum(axis=0)
    whole: Flags = (count >= FEWEST_IN_COLUMN) & (count >= NEARLY_ALL * read.sum(axis=0))
    return whole


def whole_rows(like: Flags, read: Flags) -> Flags:
    """The pieces of which nearly all figures look alike."""
    count = like.sum(axis=1)
    whole: Flags = (count >= FEWEST_IN_ROW) & (count >= NEARLY_ALL * read.sum(axis=1))
    return whole


def rows_in_words(places: Sequence[int], pieces: Pieces, *, wide: bool) -> tuple[str, str]:
    """How many pieces these are, and in which rows of the file they stand.

    In the long form a piece has several rows, of which the first is named.
    """
    numbers = listed([str(pieces.row[place]) for place in places])
    many = "s" if len(places) > 1 else ""
    if wide:
        return f"{len(places)} row{many}", f"row{many} {numbers}"
    begins = "begin" if many else "begins"
    return f"{len(places)} piece{many}", f"the piece{many} that {begins} in row{many} {numbers}"


def column_name(pieces: Pieces, place: int, *, wide: bool) -> str:
    """What a column of figures is called in a question."""
    one = pieces.readings[place]
    return one.label if wide else f"{one.code} {one.side}"


def _of_file(like: Flags, read: Flags, unit: Unit) -> str:
    return (
        f"{like.sum()} of {read.sum()} figures look like {_WORDS[unit]}. Are they? Then choose "
        f"{_WORDS[unit]} as the unit of the figures under Change the columns, also for each column with a "
        "unit of its own."
    )


def _columns(like: Flags, read: Flags, pieces: Pieces, report: Report, unit: Unit, *, wide: bool) -> Flags:
    count, of, whole = like.sum(axis=0), read.sum(axis=0), whole_columns(like, read)
    cure = (
        f"Then choose '{unit.value}' as the unit of this column under Change the columns."
        if wide
        else f"Then write the unit into its cells, such as 33 {unit.value}, or into a column of units."
    )
    for place in np.flatnonzero(whole).tolist():
        first = pieces.readings[place].row[int(np.argmax(like[:, place]))]
        name = column_name(pieces, place, wide=wide)
        report.suspect_together(
            first,
            name,
            int(count[place]),
            f"{count[place]} of {of[place]} figures of {name} look like {_WORDS[unit]}. Are they? {cure}",
        )
    of_columns: Flags = like & whole
    return of_columns


def _rows(like: Flags, read: Flags, pieces: Pieces, report: Report, unit: Unit, *, wide: bool) -> Flags:
    whole = whole_rows(like, read)
    places = np.flatnonzero(whole).tolist()
    if places:
        cells = int(like[places].sum())
        what, where = rows_in_words(places, pieces, wide=wide)
        report.suspect_together(
            pieces.row[places[0]],
            what,
            cells,
            f"{cells} figures in {where} look like {_WORDS[unit]}. Are they? Then write "
            f"the unit into these cells, such as 33 {unit.value}, and upload the file again.",
        )
    of_rows: Flags = like & whole[:, None]
    return of_rows
