"""A whole export as tables of values: from JSON, zipped CSV tables or the workbook, told by its content."""

from __future__ import annotations

import csv
import io
import json
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, BinaryIO, Final

from inventory.services.exporting.cells import CellWrong, from_sheet
from inventory.services.exporting.columns import Table
from inventory.services.exporting.pictures import FOLDER
from inventory.services.exporting.tables import BY_NAME
from inventory.services.exporting.writing import FORMAT, PARTS, VERSION, part_names
from inventory.services.importing.refusals import FileNotReadable
from inventory.services.importing.restored_rows import Room, Rows, read_rows

_MB: Final = 1024 * 1024
MOST_BYTES: Final = 2048 * _MB
"""Of the whole file; photos take most of it."""
MOST_DOCUMENT_BYTES: Final = 200 * _MB
"""Of a JSON document or a workbook, which cannot be read bit by bit."""
MOST_UNPACKED_BYTES: Final = 1024 * _MB
"""Of all tables together."""
MOST_TEXTS_BYTES: Final = 200 * _MB
"""Of a workbook's list of texts, which is held as a whole."""
MOST_ENTRIES: Final = 100_000
_LONGEST_CELL: Final = 16 * _MB

Tables = dict[str, Rows]


def read_export(source: BinaryIO | bytes) -> Tables:
    """The rows of every table, as values by column name. Raises `FileNotReadable`."""
    file = io.BytesIO(source) if isinstance(source, bytes) else source
    size = _size_of(file)
    _check_size(size, MOST_BYTES)
    try:
        if file.read(2) == b"PK":
            return _read_packed(file, size)
        _check_size(size, MOST_DOCUMENT_BYTES)
        file.seek(0)
        return _read_json(file.read())
    except FileNotReadable:
        raise
    except CellWrong as wrong:
        raise FileNotReadable(
            f"{wrong} The export was changed or damaged; write a new one.", field="file"
        ) from wrong
    except Exception as problem:  # damaged archives and workbooks fail anywhere inside their readers
        raise FileNotReadable(
            f"The export is damaged and cannot be read ({type(problem).__name__}). Write a new one.",
            field="file",
        ) from problem


def _size_of(file: BinaryIO) -> int:
    size = file.seek(0, io.SEEK_END)
    file.seek(0)
    return size


def _check_size(size: int, most: int) -> None:
    if size > most:
        raise FileNotReadable(
            f"The export has {size // _MB} MB; at most {most // _MB} are read of this form. Choose the "
            "zipped tables, or restore from a copy of the data folder instead.",
            field="file",
        )


def _read_json(content: bytes) -> Tables:
    try:
        document = json.loads(content)
    except (ValueError, RecursionError) as problem:
        raise _no_export() from problem
    if not isinstance(document, dict):
        raise _no_export()
    _check_make(document)
    tables = document.get("tables")
    if not isinstance(tables, dict):
        raise _no_export()
    room = Room()
    return {
        name: read_rows(BY_NAME[name], table["columns"], table["rows"], from_json=True, room=room)
        for name, table in tables.items()
        if name in BY_NAME
    }


def _read_packed(file: BinaryIO, size: int) -> Tables:
    with zipfile.ZipFile(file) as archive:
        entries = archive.infolist()
        tables = [entry for entry in entries if not entry.filename.startswith(FOLDER)]
        if len(entries) > MOST_ENTRIES or sum(entry.file_size for entry in tables) > MOST_UNPACKED_BYTES:
            raise FileNotReadable(
                f"Unpacked, the tables have more than {MOST_UNPACKED_BYTES // _MB} MB, which is more than is "
                "read. Was the export edited?",
                field="file",
            )
        names = {entry.filename for entry in entries}
        if "about.json" in names:
            if archive.getinfo("about.json").file_size > _MB:
                raise _no_export()
            _check_make(json.loads(archive.read("about.json")))
            room = Room()
            return {name: _csv_rows(archive, name, room) for name in BY_NAME if f"{name}.csv" in names}
        texts = sum(entry.file_size for entry in entries if entry.filename.endswith("sharedStrings.xml"))
        _check_size(max(size, texts * MOST_DOCUMENT_BYTES // MOST_TEXTS_BYTES), MOST_DOCUMENT_BYTES)
    return _read_workbook(file)


def _csv_rows(archive: zipfile.ZipFile, name: str, room: Room) -> Rows:
    longest = csv.field_size_limit(_LONGEST_CELL)
    try:
        with archive.open(f"{name}.csv") as part:
            lines = csv.reader(io.TextIOWrapper(part, encoding="utf-8", newline=""))
            head = next(lines, [])
            return read_rows(BY_NAME[name], head, lines, from_json=False, room=room)
    finally:
        csv.field_size_limit(longest)


def _read_workbook(file: BinaryIO) -> Tables:
    from openpyxl import load_workbook  # noqa: PLC0415  # a tenth of a second that most requests do not need

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = load_workbook(file, read_only=True, data_only=True)
        try:
            if "about" not in book.sheetnames:
                raise _no_export()
            cover = {str(row[0]): row[1] for row in book["about"].iter_rows(values_only=True) if len(row) > 1}
            _check_make(cover)
            found: Tables = {}
            room = Room()
            for sheet in book.sheetnames:
                name = sheet.rstrip("0123456789").rstrip()
                if name in BY_NAME:
                    book[sheet].reset_dimensions()  # a sheet may claim more than it has
                    lines = book[sheet].iter_rows(values_only=True)
                    head = [str(cell) for cell in next(lines, ()) if cell is not None]
                    table = BY_NAME[name]
                    rows = read_rows(table, *_joined(table, head, lines), from_json=False, room=room)
                    found.setdefault(name, Rows(rows.names)).lines.extend(rows.lines)
        finally:
            book.close()
    return found


def _joined(
    table: Table, head: Sequence[str], lines: Iterable[Sequence[Any]]
) -> tuple[list[str], Iterator[list[Any]]]:
    """The head and lines with documents that go on in the next columns put together."""
    kinds = {column.name: column.kind for column in table.columns}
    names = [name for name in head if name in kinds]
    places = {
        name: [head.index(part) for part in part_names(name, kinds[name]) if part in head] for name in names
    }

    def rows() -> Iterator[list[Any]]:
        for line in lines:
            yield [
                "".join(
                    str(line[place])
                    for place in places[name][:PARTS]
                    if place < len(line) and line[place] is not None
                )
                if kinds[name] == "json"
                else (_cell(line[places[name][0]]) if places[name][0] < len(line) else None)
                for name in names
            ]

    return names, rows()


def _cell(value: Any) -> Any:  # Any: what a cell of a workbook can hold
    return from_sheet(value) if isinstance(value, str) else value


def _check_make(cover: Mapping[str, Any]) -> None:
    if cover.get("format") != FORMAT:
        raise _no_export()
    if cover.get("version") != VERSION:
        raise FileNotReadable(
            f"The export is of version {cover.get('version')}; this program reads version {VERSION}. Update "
            "the "
            "program that is older.",
            field="file",
        )


def _no_export() -> FileNotReadable:
    return FileNotReadable(
        "This is no export of this program. Take the JSON, the zipped tables or the workbook it wrote.",
        field="file",
    )
