"""A table out of a file: its rows and names, and how large it may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from inventory.services.importing.cells import Cell
from inventory.services.importing.refusals import FileNotReadable

MOST_BYTES: Final = 25 * 1024 * 1024
MOST_ROWS: Final = 60_000
MOST_COLUMNS: Final = 250
MOST_CELLS: Final = 4_000_000
LIMITS_IN_WORDS: Final = "25 MB, 50,000 pieces (60,000 lines), 250 columns and 4 million cells"
HEAD_ROWS: Final = 5_010
"""So many rows of a big file are read while somebody waits: those a header can stand in, and some more."""

Rows = list[list[Cell]]


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet of a file: its rows, all sheets' names (empty for CSV), and how the text was read."""

    rows: Rows
    sheet: str
    sheets: tuple[str, ...]
    said: str
    is_head: bool = False
    """Whether there may be more rows than these: only the beginning was asked for."""

    @property
    def width(self) -> int:
        """The number of columns of the widest row."""
        return max(map(len, self.rows), default=0)


def check_limits(rows: int, width: int, cells: int) -> None:
    """Raise `FileNotReadable` when a table of so many rows, columns and cells is too large."""
    if rows >= MOST_ROWS or width > MOST_COLUMNS or cells > MOST_CELLS:
        raise FileNotReadable(
            f"The table is too large: at least {rows + 1} lines, a line of {width} columns, {cells} cells. "
            "At most "
            f"{LIMITS_IN_WORDS} are read. Split it.",
            field="file",
        )
