"""A file's bytes as rows of cells.

CSV is read by `text_tables`, XLSX by `workbooks`, both within the limits of `tables`. Cells are text, or a
date where a spreadsheet made one. Trailing empty cells and rows are dropped, so a sheet that claims a million
rows costs nothing. While somebody waits for a page, only the beginning of a big file is read; the whole is
read in the background.
"""

from __future__ import annotations

from typing import Final

from inventory.services.importing.refusals import FileNotReadable
from inventory.services.importing.tables import (
    HEAD_ROWS,
    LIMITS_IN_WORDS,
    MOST_BYTES,
    MOST_COLUMNS,
    MOST_ROWS,
    Table,
)
from inventory.services.importing.text_tables import read_csv
from inventory.services.importing.workbooks import read_workbook, unpacked_bytes

__all__ = ["LIMITS_IN_WORDS", "MOST_BYTES", "MOST_COLUMNS", "MOST_ROWS", "Table", "read_table"]

BIG_BYTES: Final = 8 * 1024 * 1024
"""From this size on, unpacked, a file is big."""
_OLD_WORKBOOK: Final = b"\xd0\xcf\x11\xe0"
_PACKED: Final = b"PK"


def read_table(content: bytes, *, sheet: str = "", head_of_big: bool = False) -> Table:
    """The rows of a file, or of the named sheet of a workbook (the first with anything in it when not named).

    With `head_of_big` only the beginning of a big file. Raises `FileNotReadable` with what is wrong and what
    to do.
    """
    if len(content) > MOST_BYTES:
        raise FileNotReadable(
            f"The file has {len(content) // (1024 * 1024)} MB; at most {LIMITS_IN_WORDS} are read. Split it.",
            field="file",
        )
    if not content.strip(b"\0 \t\r\n"):
        raise FileNotReadable("The file is empty. Choose the file with the figures.", field="file")
    if content.startswith(_OLD_WORKBOOK):
        raise FileNotReadable(
            "This is a workbook of the old kind (.xls). Open it and save it as .xlsx or CSV.", field="file"
        )
    most_rows = HEAD_ROWS if head_of_big and _is_big(content) else None
    if content.startswith(_PACKED):
        return read_workbook(content, sheet, most_rows=most_rows)
    return read_csv(content, most_rows=most_rows)


def _is_big(content: bytes) -> bool:
    return (unpacked_bytes(content) if content.startswith(_PACKED) else len(content)) > BIG_BYTES
