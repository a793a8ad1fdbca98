"""Which lines of a table are pieces, and which are blank, a header come again, a sum or a note.

Nothing is dropped without a word: a line left out is listed with the reason.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from inventory.services.importing.cells import Cell, text_of
from inventory.services.importing.files import Table
from inventory.services.importing.mapping import TableMapping
from inventory.services.importing.report import Report

_SUM: Final = re.compile(
    r"(?:sub[ -]?totals?|(?:grand )?totals?|sums?|averages?|avg|mean|count|min|max|st\.? ?dev|pieces:)\b",
    re.IGNORECASE,
)

Line = list[Cell]


def data_lines(
    table: Table, mapping: TableMapping, report: Report, *, telling: Sequence[int], identity: Sequence[int]
) -> tuple[list[Line], list[int]]:
    """The lines that hold data, padded to one width, and their row numbers as a spreadsheet counts.

    `telling` are the columns of figures and of the size: a line with none of them filled is a note.
    `identity` are the columns in which a word like "total" makes the line a sum.
    """
    width = len(mapping.columns)
    header = [
        [text_of(cell) for cell in row] for row in table.rows[mapping.header_row - 1 : mapping.first_data_row]
    ]
    look = telling[0] if telling else 0
    lines, numbers = [], []
    for number, row in enumerate(table.rows[mapping.first_data_row :], start=mapping.first_data_row + 1):
        if not any(row):
            continue
        line = row if len(row) >= width else row + [""] * (width - len(row))
        why = _why_not(line, header, telling=telling, identity=identity, look=look)
        if why is None:
            lines.append(line)
            numbers.append(number)
        elif why:
            report.leave_out(number, " | ".join(filter(None, map(text_of, line))), why)
    return lines, numbers


def _why_not(
    line: Line, header: list[list[str]], *, telling: Sequence[int], identity: Sequence[int], look: int
) -> str | None:
    """Why a line is no data; empty for a blank one, None when it is data."""
    name = next((line[place] for place in identity if line[place]), None) or next(filter(None, line), "")
    if isinstance(name, str) and _SUM.match(name.lstrip()):
        return "a sum, not a piece"
    cell = line[look]
    if not cell or (isinstance(cell, str) and not cell.strip()):
        if not any(text_of(line[place]) for place in telling):
            return "a note: no size and no figure" if any(map(text_of, line)) else ""
    elif header and _is_header(line, header):
        return "the header again"
    return None


def _is_header(line: Line, header: list[list[str]]) -> bool:
    for row in header:
        named = [(place, text) for place, text in enumerate(row[: len(line)]) if text]
        same = sum(line[place] == text or text_of(line[place]) == text for place, text in named[:6])
        if same >= min(2, len(named)) and same * 2 > len(named[:6]):
            return True
    return False


def filled_down(cells: Sequence[Cell]) -> list[Cell]:
    """The cells of a column with each empty one taken from above.

    >>> filled_down(["", "A", "", "B", ""])
    ['', 'A', 'A', 'B', 'B']
    """
    last: Cell = ""
    filled = []
    for cell in cells:
        last = cell or last
        filled.append(last)
    return filled
