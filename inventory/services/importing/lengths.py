"""A column of typed lengths as nanometres, through one parse for each distinct text.

A batch of ten thousand readings holds a few hundred different figures, so all that Python does per cell is to
look one up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from inventory.calc import length
from inventory.calc.conformity import Lengths
from inventory.calc.errors import CalcError
from inventory.services.importing.cells import Cell, date_said

NOT_READ: Final = -1
EMPTY_SIGNS: Final = frozenset({"-", "–", "—", "n/a", "N/A", "n.a.", "na", "NA", "/", "."})


@dataclass(frozen=True, slots=True, eq=False)
class LengthColumn:
    """Per cell the text as typed, the length (`NOT_READ` where none) and the unit; what could not be read."""

    typed: list[str]
    nm: Lengths
    unit: list[str]
    wrong: Mapping[Cell, str]
    dashes: int


def read_lengths(cells: Sequence[Cell], *, unit: length.Unit) -> LengthColumn:
    """Read a column; `wrong` maps each text that is no length to the sentence that says why.

    >>> found = read_lengths(["330", " 13 1/2 in", "", "soon"], unit=length.Unit.MM)
    >>> found.nm.tolist(), found.unit[1], list(found.wrong)
    ([330000000, 342900000, -1, -1], 'in', ['soon'])
    """
    nm: dict[Cell, int] = {}
    units: dict[Cell, str] = {}
    typed: dict[Cell, str] = {}
    wrong: dict[Cell, str] = {}
    empty = set()
    for cell in set(cells):
        nm[cell], units[cell], typed[cell] = NOT_READ, unit.value, ""
        if not isinstance(cell, str):
            wrong[cell] = (
                f"{date_said(cell)} stands here, a date and no length. A spreadsheet makes dates of "
                "fractions: "
                "type the figure as text, such as 13 3/8 in."
            )
            continue
        text = cell.strip()
        if not text or text in EMPTY_SIGNS:
            if text:
                empty.add(cell)
            continue
        try:
            parsed = length.parse(text, unit=unit)
        except CalcError as refusal:
            wrong[cell] = str(refusal)
            continue
        nm[cell], units[cell], typed[cell] = parsed.nm, parsed.unit.value, text
    return LengthColumn(
        typed=[typed[cell] for cell in cells],
        nm=np.fromiter(map(nm.__getitem__, cells), np.int64, len(cells)),
        unit=[units[cell] for cell in cells],
        wrong=wrong,
        dashes=sum(cell in empty for cell in cells) if empty else 0,
    )
