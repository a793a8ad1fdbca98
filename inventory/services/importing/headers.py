"""Where the header of a table is, and what its columns are called.

Sheets that people keep begin with a title, a date, an empty line; their header may take two rows, the upper
one merged over left and right. A merged cell holds its text in the first place only, so the upper row is
carried on to the right until its next text.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from inventory.services.importing.cells import Cell, text_of
from inventory.services.importing.roles import side_of, unit_in, words_of

LOOK_AT: Final = 30
MOST_HEADER_ROWS: Final = 3


def labels_of(rows: Sequence[Sequence[Cell]], *, first: int, count: int, width: int) -> list[str]:
    """The names of all columns from `count` header rows beginning at `first` (counted from 0).

    >>> labels_of([["Piece", "Waist", "", "Hip"], ["", "left", "right", ""]], first=0, count=2, width=4)
    ['Piece', 'Waist left', 'Waist right', 'Hip']
    """
    lines = []
    for place, row in enumerate(rows[first : first + count]):
        line = [text_of(cell) for cell in row[:width]] + [""] * max(width - len(row), 0)
        below = rows[first + place + 1] if place + 1 < count and first + place + 1 < len(rows) else None
        if below is not None:
            line = _carried(line, below)
        lines.append(line)
    return [" ".join(dict.fromkeys(part for part in parts if part)) for parts in zip(*lines, strict=True)]


def find_header(rows: Sequence[Sequence[Cell]], guess: Callable[[str], str]) -> tuple[int, int]:
    """First header row (from 0) and how many rows it takes: where most cells have a name that is known."""
    best = (0.0, 0, 1)
    width = max((len(row) for row in rows[:LOOK_AT]), default=0)
    for first in range(min(LOOK_AT, len(rows))):
        for count in range(1, MOST_HEADER_ROWS + 1):
            if first + count > len(rows) or (count > 1 and not _reads_like_header(rows[first + count - 1])):
                break
            labels = labels_of(rows, first=first, count=count, width=width)
            known = {role for label in labels if label and (role := guess(label))}
            score = len(known) - 0.1 * (count - 1)
            if score > best[0]:
                best = (score, first, count)
    if best[0] > 0:
        return best[1], best[2]
    first = next((place for place, row in enumerate(rows) if sum(cell != "" for cell in row) > 1), 0)
    return first, 1


def _reads_like_header(row: Sequence[Cell]) -> bool:
    """A second header row holds sides, units or other words, and no figures."""
    filled = [text_of(cell) for cell in row if cell != ""]
    if not filled or any(sign.isdigit() for text in filled for sign in text[:1]):
        return False
    telling = sum(bool(side_of(text) or unit_in(text) or words_of(text).isalpha()) for text in filled)
    return telling * 2 >= len(filled)


def _carried(line: Sequence[str], below: Sequence[Cell]) -> list[str]:
    carried, last = [], ""
    for place, text in enumerate(line):
        last = text or last
        here = below[place] if place < len(below) else ""
        carried.append(text or (last if here != "" else ""))
    return carried
