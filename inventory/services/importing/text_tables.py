"""CSV as rows: UTF-8 with or without mark, UTF-16, Windows Western; cut by comma, semicolon, tab or bar."""

from __future__ import annotations

import csv
import io
from collections import Counter
from typing import Final, NoReturn

from inventory.services.importing.refusals import FileNotReadable
from inventory.services.importing.tables import Rows, Table, check_limits

_DELIMITERS: Final = ";\t,|"


def read_csv(content: bytes, *, most_rows: int | None = None) -> Table:
    """The rows of a CSV file, at most so many. Raises `FileNotReadable`."""
    text, encoding = _decoded(content)
    delimiter = _delimiter(text)
    rows: Rows = []
    cells = 0
    try:
        for line in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
            if len(rows) == most_rows:
                break
            cells += len(line)
            check_limits(len(rows), len(line), cells)
            rows.append(line)  # type: ignore[arg-type]  # a list of texts is a list of cells that never grows
    except csv.Error as problem:
        raise FileNotReadable(
            f"Line {len(rows) + 1} is not a line of a CSV file ({problem}). Save the sheet as CSV again.",
            field="file",
        ) from problem
    is_head = len(rows) == most_rows
    while rows and not any(rows[-1]):
        rows.pop()
    name = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}[delimiter]
    said = f"CSV in {encoding}, separated by {name}"
    return Table(rows=rows, sheet="", sheets=(), said=said, is_head=is_head)


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
