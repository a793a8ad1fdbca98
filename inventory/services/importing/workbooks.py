"""XLSX workbooks as rows, within what their parts unpack to.

A packed file of 25 MB may unpack to a thousand times as much. So the sizes its directory states are held to
limits before anything is unpacked (no more than stated is ever unpacked), and the cells are counted in a
stream before they become objects.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

from inventory.services.importing.cells import Cell, cell_of
from inventory.services.importing.refusals import FileNotReadable
from inventory.services.importing.tables import (
    LIMITS_IN_WORDS,
    MOST_CELLS,
    MOST_ROWS,
    Rows,
    Table,
    check_limits,
)

if TYPE_CHECKING:
    from openpyxl import Workbook

_MB: Final = 1024 * 1024
MOST_UNPACKED_BYTES: Final = 200 * _MB
"""Of all parts together: 4 million cells take some 160 MB."""
MOST_TEXTS_BYTES: Final = 40 * _MB
"""Of the list of texts, which is held as a whole."""
MOST_PARTS: Final = 5_000
_AT_ONCE: Final = 4 * _MB
_LONGEST_CELL: Final = 8
"""In stretches: a part that goes on so long without the end of a cell holds none."""
_FORMULA_WITHOUT_VALUE: Final = re.compile(rb"(?:</f>|<f\b[^>]*/>)(?:<v\s*/>|<v></v>)?</c>")
_CELL: Final = re.compile(rb"<c[\s>/]")


def unpacked_bytes(content: bytes) -> int:
    """What the parts of a packed file unpack to, as its directory says. Raises `FileNotReadable`."""
    return sum(entry.file_size for entry in _entries(content))


def read_workbook(content: bytes, sheet: str, *, most_rows: int | None = None) -> Table:
    """The rows of a sheet, at most so many; formulas and cells are looked through unless there is a most.

    Raises `FileNotReadable`.
    """
    _check_parts(content, look_inside=most_rows is None)
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # what the reader cannot show (drawings, checks of input) is no matter
        try:
            return _read_sheets(content, sheet, most_rows)
        except FileNotReadable:
            raise
        except Exception as problem:  # a damaged workbook fails anywhere inside the reader, with any error
            raise FileNotReadable(
                f"The workbook is damaged and cannot be read ({type(problem).__name__}). Open it in your "
                "spreadsheet program, save it again and choose that file.",
                field="file",
            ) from problem


def _read_sheets(content: bytes, sheet: str, most_rows: int | None) -> Table:
    from openpyxl import load_workbook  # noqa: PLC0415  # a tenth of a second that most requests do not need

    book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
    try:
        names = tuple(one.title for one in book.worksheets)
        if not names:
            raise FileNotReadable("The workbook has no sheet with cells. Choose another file.", field="file")
        if sheet and sheet not in names:
            raise FileNotReadable(
                f"The workbook has no sheet {sheet!r}, but {', '.join(names)}. Choose one of these.",
                field="sheet",
            )
        chosen, rows = sheet, _rows_of(book, sheet, most_rows) if sheet else []
        for name in () if sheet else names:
            chosen, rows = name, _rows_of(book, name, most_rows)
            if rows:
                break
    finally:
        book.close()
    is_head = most_rows is not None
    return Table(rows=rows, sheet=chosen, sheets=names, said=f"workbook, sheet {chosen}", is_head=is_head)


def _rows_of(book: Workbook, name: str, most_rows: int | None) -> Rows:
    sheet = book[name]
    sheet.reset_dimensions()  # a sheet may claim more rows and columns than it has
    rows: Rows = []
    blank = cells = 0
    for values in sheet.iter_rows(values_only=True):
        line = _trimmed(cell_of(value) for value in values)
        if not line:
            blank += 1
            if blank > MOST_ROWS:
                break
            continue
        if most_rows is not None and len(rows) + blank >= most_rows:
            break
        rows.extend([] for _ in range(blank))
        blank = 0
        cells += len(line)
        check_limits(len(rows), len(line), cells)
        rows.append(line)
    return rows


def _trimmed(cells: Iterable[Cell]) -> list[Cell]:
    line = list(cells)
    while line and line[-1] == "":
        line.pop()
    return line


def _entries(content: bytes) -> list[zipfile.ZipInfo]:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return archive.infolist()
    except Exception as problem:  # zipfile raises a dozen kinds for damaged archives
        raise _damaged(problem) from problem


def _damaged(problem: Exception) -> FileNotReadable:
    return FileNotReadable(
        f"The workbook is damaged and cannot be unpacked ({type(problem).__name__}). Save it again.",
        field="file",
    )


def _check_parts(content: bytes, *, look_inside: bool) -> None:
    """Raise `FileNotReadable` for what is no workbook, or too large a one."""
    entries = _entries(content)
    unpacked = sum(entry.file_size for entry in entries)
    texts = sum(entry.file_size for entry in entries if entry.filename.endswith("sharedStrings.xml"))
    if len(entries) > MOST_PARTS or unpacked > MOST_UNPACKED_BYTES or texts > MOST_TEXTS_BYTES:
        raise FileNotReadable(
            f"Unpacked, the workbook has {unpacked // _MB} MB in {len(entries)} parts, {texts // _MB} MB of "
            f"them texts, which is more than is read: {MOST_UNPACKED_BYTES // _MB} MB, or "
            f"{MOST_TEXTS_BYTES // _MB} MB of texts. Save the sheet alone as CSV.",
            field="file",
        )
    if "[Content_Types].xml" not in {entry.filename for entry in entries}:
        raise FileNotReadable(
            "This is a packed file, but no XLSX workbook. Choose a .xlsx or .csv file.", field="file"
        )
    if look_inside:
        _check_sheets(content, entries)


def _check_sheets(content: bytes, entries: list[zipfile.ZipInfo]) -> None:
    """A formula saved without its value would come out as an empty cell: a figure lost without a word."""
    for entry in entries:
        if not entry.filename.startswith("xl/worksheets/") or not entry.filename.endswith(".xml"):
            continue
        cells = without = 0
        for stretch in _stretches(content, entry):
            cells += len(_CELL.findall(stretch))
            without += len(_FORMULA_WITHOUT_VALUE.findall(stretch))
            if cells > MOST_CELLS:
                raise FileNotReadable(
                    f"A sheet of the workbook has more than {MOST_CELLS:,} cells. At most "
                    f"{LIMITS_IN_WORDS} are read. Split it.",
                    field="file",
                )
        if without:
            raise FileNotReadable(
                f"{without} formula cell{'s' if without > 1 else ''} in the workbook hold no value, so they "
                "would be read as empty. Open it in your spreadsheet program, save it, and choose that file.",
                field="file",
            )


def _stretches(content: bytes, entry: zipfile.ZipInfo) -> Iterator[bytes]:
    """A part unpacked bit by bit, cut behind the end of a cell where there is one."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive, archive.open(entry) as part:
            rest = b""
            while more := part.read(_AT_ONCE):
                held = rest + more
                end = held.rfind(b"</c>") + 4
                if end == 3 and len(held) < _LONGEST_CELL * _AT_ONCE:
                    rest = held  # in the midst of a cell
                    continue
                end = end if end > 3 else len(held)
                yield held[:end]
                rest = held[end:]
            yield rest
    except FileNotReadable:
        raise
    except Exception as problem:  # a damaged part fails with any error
        raise _damaged(problem) from problem
