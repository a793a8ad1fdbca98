"""Sheets of a workbook as people want them: the heading stays in sight, every column can be filtered."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

MOST_SHEET_ROWS: Final = 1_000_000
"""A sheet holds 1,048,576 rows; what goes beyond is told on a further sheet."""


def write_rows(
    book: Workbook,
    title: str,
    head: Sequence[str],
    rows: Iterable[list[Any]],  # Any: whatever a cell can hold
    *,
    widths: Sequence[int],
) -> int:
    """Write a table to a sheet, and to further ones where one does not hold it; return the number of rows."""
    sheet, count, here = _begin(book, title, head, widths), 0, 0
    for row in rows:
        if here == MOST_SHEET_ROWS:
            _filter_all(sheet, columns=len(head), rows=here)
            sheet, here = _begin(book, f"{title} {count // MOST_SHEET_ROWS + 1}", head, widths), 0
        sheet.append(row)
        count, here = count + 1, here + 1
    _filter_all(sheet, columns=len(head), rows=here)
    return count


def _begin(book: Workbook, title: str, head: Sequence[str], widths: Sequence[int]) -> Worksheet:
    """A sheet with its heading, which does not scroll away, and its columns as wide as said (signs)."""
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415  # a tenth of a second most requests do not need
    from openpyxl.styles import Font  # noqa: PLC0415  # as above
    from openpyxl.utils import get_column_letter  # noqa: PLC0415  # as above

    sheet: Worksheet = book.create_sheet(title)  # one that only takes rows; its stub lacks what it inherits
    sheet.freeze_panes = "A2"
    for place, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    cells = []
    for name in head:
        cell = WriteOnlyCell(sheet, name)
        cell.font = Font(bold=True)
        cells.append(cell)
    sheet.append(cells)
    return sheet


def _filter_all(sheet: Worksheet, *, columns: int, rows: int) -> None:
    """Let every column be filtered: said last, when the number of rows is known."""
    from openpyxl.utils import get_column_letter  # noqa: PLC0415  # as above

    sheet.auto_filter.ref = f"A1:{get_column_letter(columns)}{rows + 1}"
