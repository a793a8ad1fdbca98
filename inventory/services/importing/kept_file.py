"""The file of an import as it is kept, from upload to store."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, BinaryIO, cast

from inventory.services.importing.files import Table, read_table
from inventory.services.importing.refusals import FileNotReadable, MappingIncomplete
from inventory.services.importing.tables import HEAD_ROWS

if TYPE_CHECKING:
    from inventory.models import ImportRun


@contextmanager
def opened(run: ImportRun) -> Iterator[BinaryIO]:
    """The file as it came. Raises `FileNotReadable` when it is no longer there."""
    try:
        kept = run.file.open("rb")
    except (FileNotFoundError, ValueError) as gone:  # removed, or never here: the run came with an export
        raise FileNotReadable(
            f"The uploaded file {run.file_name!r} is no longer on the server. Upload it again."
        ) from gone
    with kept:
        yield cast("BinaryIO", kept)


def content_of(run: ImportRun) -> bytes:
    """The bytes of the file. Raises `FileNotReadable` when it is no longer there."""
    with opened(run) as kept:
        return kept.read()


def table_of(run: ImportRun, *, head_of_big: bool = False) -> Table:
    """The rows of the run's file, of the sheet that was chosen; all of them unless it is big.

    Raises `MappingIncomplete` when lines far down have more columns than were seen when these were chosen.
    """
    table = read_table(content_of(run), sheet=str(run.mapping.get("sheet", "")), head_of_big=head_of_big)
    seen = len(run.mapping.get("columns", ()))
    if not head_of_big and seen and table.width > seen:
        row = next(number for number, line in enumerate(table.rows, start=1) if len(line) > seen)
        raise MappingIncomplete(
            f"Row {row} has cells right of the {seen} columns that the first {HEAD_ROWS:,} rows have. Take "
            "them out of the file, or give their column a name."
        )
    return table


def digest_of(file: BinaryIO, table: Table | None) -> str:
    """SHA-256 of the file; of the file and the sheet's name where a workbook has several."""
    file.seek(0)
    digest = hashlib.sha256()
    while part := file.read(1024 * 1024):
        digest.update(part)
    file.seek(0)
    if table is not None and len(table.sheets) > 1:
        digest.update(f"\0sheet {table.sheet}".encode())
    return digest.hexdigest()


def ending_of(name: str) -> str:
    """The ending under which a file is kept, by the name it came with."""
    known = (".xlsx", ".zip", ".json")
    return next((ending for ending in known if name.lower().endswith(ending)), ".csv")
