"""The table of measurements as a CSV file or a workbook, written a lot of pieces at a time."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, BinaryIO, Final

from inventory.queries.measurements import AT_ONCE, measurements_of
from inventory.services.exporting.cells import guarded, in_sheet
from inventory.services.exporting.measurements import Column, Value, columns_in
from inventory.services.exporting.sheets import write_rows

if TYPE_CHECKING:
    from inventory.calc.length import Unit

Said = Callable[[int], None]
"""Hears how many pieces were written."""

_LEGEND: Final = (
    ("side", "left and right as worn; a full girth and left minus right are worked out from the sides"),
    ("mean", "of the readings in effect, which stand beside it as they were typed"),
    (
        "lower and upper limit",
        "by the spec and the size the piece was judged by; both are still in tolerance",
    ),
    ("±", "expanded uncertainty (k = 2): covers about 95 % of what the measuring may be off"),
    ("claim verdict", "by the claim rule: out only where it is out beyond doubt"),
    ("decides", "whether the line counts for the piece, or is only shown"),
    ("piece's verdict", "“to measure again”: its label was changed since it was judged"),
    ("times", "by the shop's own clock"),
)


def write_measurements(
    form: str,
    out: BinaryIO,
    *,
    pieces: Sequence[int],
    unit: Unit,
    about: Sequence[tuple[str, str]],
    said: Said,
) -> int:
    """Write a line for each measurement of these pieces to `out`; return how many.

    `form` is "csv" or "xlsx"; `about` is what a workbook says of itself beside the legend.
    """
    columns = columns_in(unit)
    lines = _lines(columns, pieces, said)
    return _write_csv(out, columns, lines) if form == "csv" else _write_workbook(out, columns, lines, about)


def _lines(columns: Sequence[Column], pieces: Sequence[int], said: Said) -> Iterator[list[Value]]:
    done = 0
    said(done)
    for lot in measurements_of(pieces):
        for line in lot:
            yield [column.value(line) for column in columns]
        done = min(done + AT_ONCE, len(pieces))
        said(done)


def _write_csv(out: BinaryIO, columns: Sequence[Column], lines: Iterator[list[Value]]) -> int:
    # The mark at the start lets spreadsheets see that it is UTF-8.
    text = io.TextIOWrapper(out, encoding="utf-8-sig", newline="")
    writer = csv.writer(text)
    writer.writerow([column.heading for column in columns])
    count = 0
    for line in lines:
        writer.writerow([_as_text(value) for value in line])
        count += 1
    text.flush()
    text.detach()
    return count


def _write_workbook(
    out: BinaryIO, columns: Sequence[Column], lines: Iterator[list[Value]], about: Sequence[tuple[str, str]]
) -> int:
    from openpyxl import Workbook  # noqa: PLC0415  # a tenth of a second that most requests do not need

    book = Workbook(write_only=True)
    count = write_rows(
        book,
        "measurements",
        [column.heading for column in columns],
        ([_as_cell(value) for value in line] for line in lines),
        widths=[column.width for column in columns],
    )
    told = [[_as_cell(text) for text in entry] for entry in (*about, *_LEGEND)]
    write_rows(book, "about", ["what", "says"], told, widths=[24, 90])
    book.save(out)
    return count


def _as_text(value: Value) -> str:
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, dt.datetime):
        return value.isoformat(" ", "minutes")
    return "" if value is None else f"{value:f}" if isinstance(value, Decimal) else str(value)


def _as_cell(value: Value) -> Value:
    return (in_sheet(guarded(value)) or None) if isinstance(value, str) else value
