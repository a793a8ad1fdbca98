"""The three forms of an export: zipped CSV tables, a workbook, one JSON document. Rows are streamed.

The zipped tables are the whole: they hold the originals of all photos as well. Workbook and document hold
every table, that of the photos too, but no pictures.
"""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Callable, Iterator
from itertools import repeat
from typing import TYPE_CHECKING, BinaryIO, Final

from inventory.services.exporting.cells import in_sheet, plain, written
from inventory.services.exporting.columns import Column, Table
from inventory.services.exporting.pictures import write_pictures
from inventory.services.exporting.sheets import write_rows
from inventory.services.exporting.tables import TABLES
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

FORMAT: Final = "measuring room export"
VERSION: Final = 1
MOST_CELL_SIGNS: Final = 32_000
"""A cell of a workbook holds 32,767 signs; a longer document goes on in the next columns."""
PARTS: Final = 6
_WIDTHS: Final = {
    "yes": 6,
    "number": 8,
    "key": 8,
    "length": 11,
    "decimal": 9,
    "float": 12,
    "day": 12,
    "moment": 28,
    "json": 40,
}

Said = Callable[[str], None]


def write_export(form: str, out: BinaryIO, *, at: dt.datetime, said: Said) -> dict[str, int]:
    """Write everything to `out`; return the number of rows by table. `said(table)` hears what comes next."""
    writers = {"json": _write_json, "csv": _write_csv, "xlsx": _write_workbook}
    if form not in writers:
        raise Refused(f"There is no export of the form {form!r}. Choose {', '.join(writers)}.")
    return writers[form](out, at, said)


def about(at: dt.datetime) -> dict[str, str | int]:
    """What says that a file is an export, and of which make."""
    return {"format": FORMAT, "version": VERSION, "written_at": at.isoformat(), "lengths": "millimetres"}


def _write_json(out: BinaryIO, at: dt.datetime, said: Said) -> dict[str, int]:
    counts = {}
    text = io.TextIOWrapper(out, encoding="utf-8", write_through=True)
    text.write(json.dumps(about(at))[:-1] + ', "tables": {')
    for place, table in enumerate(TABLES):
        said(table.name)
        columns = json.dumps([column.name for column in table.columns])
        text.write(f'{"," if place else ""}\n"{table.name}": {{"columns": {columns}, "rows": [')
        counts[table.name] = 0
        for row in table.rows():
            values = [plain(value, column.kind) for value, column in zip(row, table.columns, strict=True)]
            text.write(("," if counts[table.name] else "") + "\n" + json.dumps(values, ensure_ascii=False))
            counts[table.name] += 1
        text.write("]}")
    text.write("}}\n")
    text.flush()
    text.detach()
    return counts


def _write_csv(out: BinaryIO, at: dt.datetime, said: Said) -> dict[str, int]:
    counts = {}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("about.json", json.dumps(about(at)))
        for table in TABLES:
            said(table.name)
            with archive.open(f"{table.name}.csv", "w", force_zip64=True) as part:
                text = io.TextIOWrapper(part, encoding="utf-8", newline="", write_through=False)
                writer = csv.writer(text)
                writer.writerow([column.name for column in table.columns])
                counts[table.name] = 0
                for line in _lines(table):
                    writer.writerow(line)
                    counts[table.name] += 1
                text.flush()
                text.detach()
        said("pictures")
        counts["pictures"], gone = write_pictures(archive)
        if gone:
            counts["pictures gone from the server"] = gone
    return counts


def _lines(table: Table) -> Iterator[list[str]]:
    kinds = [column.kind for column in table.columns]
    for row in table.rows():
        yield [written(value, kind) for value, kind in zip(row, kinds, strict=True)]


def _write_workbook(out: BinaryIO, at: dt.datetime, said: Said) -> dict[str, int]:
    from openpyxl import Workbook  # noqa: PLC0415  # a tenth of a second that most requests do not need

    book = Workbook(write_only=True)
    cover = book.create_sheet("about")
    cover.column_dimensions["A"].width, cover.column_dimensions["B"].width = 14, 34
    for name, value in about(at).items():
        cover.append([name, value])
    counts = {}
    for table in TABLES:
        said(table.name)
        counts[table.name] = write_rows(
            book,
            table.name,
            [name for column in table.columns for name in part_names(column.name, column.kind)],
            (_sheet_row(table, line) for line in _lines(table)),
            widths=[width for column in table.columns for width in _widths(column)],
        )
    book.save(out)
    return counts


def _widths(column: Column) -> list[int]:
    """As wide as what a column usually holds, and as its name beside the arrow of the filter."""
    width = max(_WIDTHS.get(column.kind, 18), len(column.name) + 4)
    return [width] * len(part_names(column.name, column.kind))


def part_names(name: str, kind: str) -> list[str]:
    """The columns a column takes in a workbook: documents may be longer than one cell."""
    return [name, *(f"{name} {part}" for part in range(2, PARTS + 1))] if kind == "json" else [name]


def _sheet_row(table: Table, line: list[str]) -> list[object]:
    cells: list[object] = []
    for column, text in zip(table.columns, line, strict=True):
        if column.kind == "json":
            parts = _parts(text)
            if len(parts) > PARTS:
                raise Refused(
                    f"A document of {table.name} has {len(text)} signs, more than a workbook holds. Choose "
                    "CSV or JSON."
                )
            cells += [*parts, *repeat(None, PARTS - len(parts))]
        elif text and column.kind in ("number", "key") and len(text) < 16:
            cells.append(int(text))
        elif text and column.kind == "length":
            cells.append(
                float(text)
            )  # at most ten digits before and six after the point: exact when read back
        else:
            cells.append(in_sheet(text) or None)
    return cells


def _parts(document: str) -> list[str]:
    """A document cut to fit cells; a part that begins with `=` would be taken for a formula."""
    parts: list[str] = []
    while document:
        if parts and document[0] == "=":
            document = f"\\u003d{document[1:]}"
        parts.append(document[:MOST_CELL_SIGNS])
        document = document[MOST_CELL_SIGNS:]
    return parts
