"""A whole export as tables of values: from JSON, zipped CSV tables or the workbook, told by its content."""

from __future__ import annotations

import csv
import io
import json
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from inventory.services.exporting.cells import CellWrong, read
from inventory.services.exporting.tables import BY_NAME, Table
from inventory.services.exporting.writing import FORMAT, PARTS, VERSION, part_names
from inventory.services.importing.refusals import FileNotReadable

MOST_BYTES: Final = 200 * 1024 * 1024
MOST_UNPACKED_BYTES: Final = 1024 * 1024 * 1024
MOST_ENTRIES: Final = 2_000
_LONGEST_CELL: Final = 16 * 1024 * 1024

Row = Mapping[str, Any]  # Any: values of every kind of column
Rows = list[Row]


def read_export(content: bytes) -> dict[str, Rows]:
    """The rows of every table that is restored, as values by column name. Raises `FileNotReadable`."""
    if len(content) > MOST_BYTES:
        raise FileNotReadable(
            f"The export has {len(content) // (1024 * 1024)} MB; at most {MOST_BYTES // (1024 * 1024)} are "
            "read. "
            "Restore it from a copy of the data folder instead.",
            field="file",
        )
    try:
        return _read_packed(content) if content.startswith(b"PK") else _read_json(content)
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


def _read_json(content: bytes) -> dict[str, Rows]:
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
    return {
        name: _values(BY_NAME[name], table["columns"], table["rows"], from_json=True)
        for name, table in tables.items()
        if name in BY_NAME and BY_NAME[name].restored
    }


def _read_packed(content: bytes) -> dict[str, Rows]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        entries = archive.infolist()
        if len(entries) > MOST_ENTRIES or sum(entry.file_size for entry in entries) > MOST_UNPACKED_BYTES:
            raise FileNotReadable(
                "Unpacked, the export is larger than is read. Choose its JSON form.", field="file"
            )
        names = {entry.filename for entry in entries}
        if "about.json" in names:
            _check_make(json.loads(archive.read("about.json")))
            return {name: _csv_rows(archive, name) for name in _restored() if f"{name}.csv" in names}
    return _read_workbook(content)


def _csv_rows(archive: zipfile.ZipFile, name: str) -> Rows:
    longest = csv.field_size_limit(_LONGEST_CELL)
    try:
        with archive.open(f"{name}.csv") as part:
            lines = csv.reader(io.TextIOWrapper(part, encoding="utf-8", newline=""))
            head = next(lines, [])
            return _values(BY_NAME[name], head, lines, from_json=False)
    finally:
        csv.field_size_limit(longest)


def _read_workbook(content: bytes) -> dict[str, Rows]:
    from openpyxl import load_workbook  # noqa: PLC0415  # a tenth of a second that most requests do not need

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        try:
            if "about" not in book.sheetnames:
                raise _no_export()
            cover = {str(row[0]): row[1] for row in book["about"].iter_rows(values_only=True) if len(row) > 1}
            _check_make(cover)
            found: dict[str, Rows] = {}
            for sheet in book.sheetnames:
                name = sheet.rstrip("0123456789").rstrip()
                if name in _restored():
                    lines = book[sheet].iter_rows(values_only=True)
                    head = [str(cell) for cell in next(lines, ()) if cell is not None]
                    rows = _values(BY_NAME[name], *_joined(BY_NAME[name], head, lines), from_json=False)
                    found.setdefault(name, []).extend(rows)
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
                else (line[places[name][0]] if places[name][0] < len(line) else None)
                for name in names
            ]

    return names, rows()


def _values(table: Table, head: Sequence[str], lines: Iterable[Sequence[Any]], *, from_json: bool) -> Rows:
    columns = {column.name: column for column in table.columns}
    missing = [name for name in columns if name not in head]
    if missing:
        raise FileNotReadable(
            f"Table {table.name} of the export lacks {', '.join(missing)}. Was it edited? Write a new one.",
            field="file",
        )
    read_in = [(name, place, columns[name]) for place, name in enumerate(head) if name in columns]
    rows: Rows = []
    for number, line in enumerate(lines, start=2):
        if len(line) < len(head) and from_json:
            raise FileNotReadable(f"Row {number - 1} of table {table.name} is too short.", field="file")
        try:
            rows.append(
                {
                    name: read(line[place] if place < len(line) else None, column, from_json=from_json)
                    for name, place, column in read_in
                }
            )
        except CellWrong as wrong:
            raise CellWrong(f"Table {table.name}, row {number}: {wrong}") from wrong
    return rows


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


def _restored() -> list[str]:
    return [name for name, table in BY_NAME.items() if table.restored]
