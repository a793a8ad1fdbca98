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
    from inventory.calc.conformity import Lengths
    from inventory.calc.judging.arrays import Flags
    from inventory.services.importing.pieces import Pieces
    from inventory.services.importing.report import Report

UNITS: Final = tuple(Unit)
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


def tell_other_units(really: Lengths, pieces: Pieces, report: Report, *, wide: bool) -> Flags:
    """Note what is in another unit as a whole, and say which cells that answers for.

    `really` holds for each cell, pieces down and columns of readings across, 1 + the place in `UNITS` of the
    unit its figure looks like; 0 where it does not look like another unit. In the `wide` form a column has a
    unit of its own to choose.
    """
    read = np.stack([one.nm >= 0 for one in pieces.readings], axis=1)
    told: Flags = np.zeros(really.shape, np.bool_)
    for place, unit in enumerate(UNITS, start=1):
        like: Flags = really == place
        if like.sum() >= max(NEARLY_ALL * read.sum(), FEWEST_IN_COLUMN):
            report.suspect_together(0, "file", int(like.sum()), _of_file(like, read, unit))
            return like
        told |= _columns(like, read, pieces, report, unit, wide=wide)
        told |= _rows(like & ~told, read, pieces, report, unit, wide=wide)
    return told


def _of_file(like: Flags, read: Flags, unit: Unit) -> str:
    return (
        f"{like.sum()} of {read.sum()} figures look like {_WORDS[unit]}. Are they? Then choose {unit.value} "
        "as the unit of the figures under Change the columns, also for each column with a unit of its own."
    )


def _columns(like: Flags, read: Flags, pieces: Pieces, report: Report, unit: Unit, *, wide: bool) -> Flags:
    count, of = like.sum(axis=0), read.sum(axis=0)
    whole = (count >= FEWEST_IN_COLUMN) & (count >= NEARLY_ALL * of)
    cure = (
        f"Then choose {unit.value} as the unit of this column under Change the columns."
        if wide
        else f"Then write the unit into its cells, such as 33 {unit.value}, or into a column of units."
    )
    for place in np.flatnonzero(whole).tolist():
        one = pieces.readings[place]
        first = one.row[int(np.argmax(like[:, place]))]
        name = one.label if wide else f"{one.code} {one.side}"
        report.suspect_together(
            first,
            name,
            int(count[place]),
            f"{count[place]} of {of[place]} figures of {name} look like {_WORDS[unit]}. Are they? {cure}",
        )
    of_columns: Flags = like & whole
    return of_columns


def _rows(like: Flags, read: Flags, pieces: Pieces, report: Report, unit: Unit, *, wide: bool) -> Flags:
    count, of = like.sum(axis=1), read.sum(axis=1)
    whole = (count >= FEWEST_IN_ROW) & (count >= NEARLY_ALL * of)
    numbers = [str(pieces.row[place]) for place in np.flatnonzero(whole).tolist()]
    if numbers:
        cells, many = int(count[whole].sum()), "s" if len(numbers) > 1 else ""
        where = f"row{many}" if wide else f"the piece{many} that begin{'' if many else 's'} in row{many}"
        report.suspect_together(
            int(numbers[0]),
            f"{len(numbers)} {'row' if wide else 'piece'}{many}",
            cells,
            f"{cells} figures in {where} {listed(numbers)} look like {_WORDS[unit]}. Are they? Then write "
            f"the unit into these cells, such as 33 {unit.value}, and upload the file again.",
        )
    of_rows: Flags = like & whole[:, None]
    return of_rows
