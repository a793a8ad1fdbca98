"""A file's bytes as rows of cells.

CSV comes as UTF-8 with or without mark, UTF-16 or Windows Western, separated by comma, semicolon or tab. XLSX
is unpacked only after its directory promises a bearable size. Cells are text, or a date where a spreadsheet
made one. Trailing empty cells and rows are dropped, so a sheet that claims a million rows costs nothing.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NoReturn

from inventory.services.importing.cells import Cell, cell_of
from inventory.services.importing.refusals import FileNotReadable

if TYPE_CHECKING:
    from openpyxl import Workbook

MOST_BYTES: Final = 25 * 1024 * 1024
MOST_UNPACKED_BYTES: Final = 400 * 1024 * 1024
MOST_ROWS: Final = 60_000
MOST_COLUMNS: Final = 250
MOST_CELLS: Final = 4_000_000
LIMITS_IN_WORDS: Final = "25 MB, 50,000 pieces (60,000 lines), 250 columns and 4 million cells"

_DELIMITERS: Final = ";\t,|"
_OLD_WORKBOOK: Final = b"\xd0\xcf\x11\xe0"
_FORMULA_WITHOUT_VALUE: Final = re.compile(rb"(?:</f>|<f\b[^>]*/>)(?:<v\s*/>|<v></v>)?</c>")

Rows = list[list[Cell]]


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet of a file: its rows, all sheets' names (empty for CSV), and how the text was read."""

    rows: Rows
    sheet: str
    sheets: tuple[str, ...]
    said: str

    @property
    def width(self) -> int:
        """The number of columns of the widest row."""
        return max(map(len, self.rows), default=0)


def read_table(content: bytes, *, sheet: str = "") -> Table:
    """The rows of a file, or of the named sheet of a workbook (the first with anything in it when not named).

    Raises `FileNotReadable` with what is wrong and what to do.
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
    return _read_workbook(content, sheet) if content.startswith(b"PK") else _read_csv(content)


def _read_csv(content: bytes) -> Table:
    text, encoding = _decoded(content)
    delimiter = _delimiter(text)
    rows: Rows = []
    cells = 0
    try:
        for line in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
            cells += len(line)
            _check_limits(len(rows), len(line), cells)
            rows.append(line)  # type: ignore[arg-type]  # a list of texts is a list of cells that never grows
    except csv.Error as problem:
        raise FileNotReadable(
            f"Line {len(rows) + 1} is not a line of a CSV file ({problem}). Save the sheet as CSV again.",
            field="file",
        ) from problem
    while rows and not any(rows[-1]):
        rows.pop()
    name = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}[delimiter]
    return Table(rows=rows, sheet="", sheets=(), said=f"CSV in {encoding}, separated by {name}")


def _decoded(content: bytes) -> tuple[str, str]:
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if content.startswith(mark):
            try:
                return content.decode(encoding), encoding.removesuffix("-sig").upper()
            except UnicodeDecodeError:
                break
    if b"\0" in content[:4096]:
        return _without_mark(content), "UTF-16"
    try:
        return content.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        if not _is_text(content):
            _refuse()
    try:
        return content.decode("cp1252"), "Windows Western"
    except UnicodeDecodeError:
        return content.decode("latin-1"), "Latin-1"


def _without_mark(content: bytes) -> str:
    order = "utf-16-le" if content[1:200:2].count(0) > content[0:200:2].count(0) else "utf-16-be"
    try:
        text = content.decode(order)
    except UnicodeDecodeError:
        _refuse()
    sample = text[:400]
    if any(ord(sign) < 9 or 13 < ord(sign) < 32 for sign in sample) or 2 * sum(
        not sign.isascii() for sign in sample
    ) > len(sample):
        _refuse()
    return text


def _is_text(content: bytes) -> bool:
    control = sum(byte < 9 or 13 < byte < 32 for byte in content[:4096])
    return control * 50 < len(content[:4096])


def _refuse() -> NoReturn:
    raise FileNotReadable(
        "This is neither a CSV file nor an XLSX workbook. Save the sheet as one of these and choose it "
        "again.",
        field="file",
    )


def _delimiter(text: str) -> str:
    """The sign that cuts the first lines into the most, and the most equally many, cells."""
    sample = text[:20_000].splitlines()[:40]
    best, best_score = ",", 0.0
    for delimiter in _DELIMITERS:
        try:
            widths = Counter(len(line) for line in csv.reader(sample, delimiter=delimiter) if any(line))
        except csv.Error:
            continue
        width, lines = max(
            widths.items(), key=lambda found: (found[1] * (found[0] > 1), found[0]), default=(1, 0)
        )
        score = lines / max(sum(widths.values()), 1) * (width > 1) + width / 1000
        if width > 1 and score > best_score:
            best, best_score = delimiter, score
    return best


def _read_workbook(content: bytes, sheet: str) -> Table:
    _check_archive(content)
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # what the reader cannot show (drawings, checks of input) is no matter
        try:
            return _read_sheets(content, sheet)
        except FileNotReadable:
            raise
        except Exception as problem:  # a damaged workbook fails anywhere inside the reader, with any error
            raise FileNotReadable(
                f"The workbook is damaged and cannot be read ({type(problem).__name__}). Open it in your "
                "spreadsheet program, save it again and choose that file.",
                field="file",
            ) from problem


def _read_sheets(content: bytes, sheet: str) -> Table:
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
        chosen, rows = sheet, _rows_of(book, sheet) if sheet else []
        for name in () if sheet else names:
            chosen, rows = name, _rows_of(book, name)
            if rows:
                break
    finally:
        book.close()
    return Table(rows=rows, sheet=chosen, sheets=names, said=f"workbook, sheet {chosen}")


def _rows_of(book: Workbook, name: str) -> Rows:
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
        rows.extend([] for _ in range(blank))
        blank = 0
        cells += len(line)
        _check_limits(len(rows), len(line), cells)
        rows.append(line)
    return rows


def _trimmed(cells: Iterable[Cell]) -> list[Cell]:
    line = list(cells)
    while line and line[-1] == "":
        line.pop()
    return line


def _check_archive(content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
            names = {entry.filename for entry in entries}
            unpacked = sum(entry.file_size for entry in entries)
            if len(entries) > 5_000 or unpacked > MOST_UNPACKED_BYTES:
                raise FileNotReadable(
                    f"Unpacked, the workbook has {unpacked // (1024 * 1024)} MB in {len(entries)} parts, "
                    "which is "
                    "more than is read. Save the sheet alone as CSV.",
                    field="file",
                )
            if "[Content_Types].xml" not in names:
                raise FileNotReadable(
                    "This is a packed file, but no XLSX workbook. Choose a .xlsx or .csv file.", field="file"
                )
            _check_formulas(archive, entries)
    except FileNotReadable:
        raise
    except Exception as problem:  # zipfile raises a dozen kinds for damaged archives
        raise FileNotReadable(
            f"The workbook is damaged and cannot be unpacked ({type(problem).__name__}). Save it again.",
            field="file",
        ) from problem


def _check_formulas(archive: zipfile.ZipFile, entries: list[zipfile.ZipInfo]) -> None:
    """A formula saved without its value would come out as an empty cell: a figure lost without a word."""
    for entry in entries:
        if not entry.filename.startswith("xl/worksheets/") or not entry.filename.endswith(".xml"):
            continue
        with archive.open(entry) as part:
            content = part.read(MOST_UNPACKED_BYTES + 1)
        if len(content) > MOST_UNPACKED_BYTES:
            raise FileNotReadable("The workbook unpacks to more than it says. It is not read.", field="file")
        without = len(_FORMULA_WITHOUT_VALUE.findall(content))
        if without:
            raise FileNotReadable(
                f"{without} formula cell{'s' if without > 1 else ''} in the workbook hold no value, so they "
                "would "
                "be read as empty. Open it in your spreadsheet program, save it, and choose that file.",
                field="file",
            )


def _check_limits(rows: int, width: int, cells: int) -> None:
    if rows >= MOST_ROWS or width > MOST_COLUMNS or cells > MOST_CELLS:
        raise FileNotReadable(
            f"The table is too large: at least {rows + 1} lines, a line of {width} columns, {cells} cells. "
            "At most "
            f"{LIMITS_IN_WORDS} are read. Split it.",
            field="file",
        )
