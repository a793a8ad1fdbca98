"""What the columns of a table are called on the screen and in messages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.services.importing.headers import labels_of

if TYPE_CHECKING:
    from inventory.services.importing.files import Table
    from inventory.services.importing.mapping import TableMapping


def named_columns(table: Table, mapping: TableMapping) -> list[str]:
    """The columns' names; a nameless one is called by its letter."""
    names = labels_of(table.rows, first=mapping.header_row - 1, count=mapping.header_rows, width=table.width)
    return [name or f"column {letters(place)}" for place, name in enumerate(names)]


def letters(place: int) -> str:
    """A column as spreadsheets call it.

    >>> letters(0), letters(26)
    ('A', 'AA')
    """
    shown = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        shown = chr(ord("A") + rest) + shown
    return shown
