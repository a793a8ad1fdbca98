"""An empty file to fill in: for measured pieces of a style, or for its spec sheet; as CSV or XLSX."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from inventory.models import Maker, Spec

if TYPE_CHECKING:
    from inventory.models import Style

PIECE_HEAD = ("Piece reference", "Size", "Colour", "Carton", "Measured on", "Measured by", "Tape")
SPEC_HEAD = ("Point", "Name", "Basis", "Tolerance minus", "Tolerance plus", "Left-right limit", "Grade step")
BOM = b"\xef\xbb\xbf"


def template_for(style: Style, *, kind: str, form: str) -> bytes:
    """A file of `form` "csv" or "xlsx" that names its style; the import understands its header by itself."""
    above = [["Style", style.code]]
    points = list(style.points.filter(is_active=True))
    spec = style.specs.exclude(state=Spec.State.DRAFT).order_by("-revision").first()
    sizes = list(spec.sizes.values_list("label", flat=True)) if spec else []
    unit = f"({spec.unit_of_record})" if spec else "(mm)"
    if kind == "spec":
        head = [*SPEC_HEAD, *(f"size {size}" for size in sizes or ("S", "M", "L"))]
        rows: list[list[str]] = [
            [point.code, point.name, "half" if point.kind == "half" else ""] for point in points
        ]
    else:
        head = [
            *PIECE_HEAD,
            *(f"{point.code} {side} {unit}" for point in points for side in point.sides_read),
        ]
        rows = []
        above += [["Maker", _maker_of(style)], ["Order reference", ""], ["Arrived on", ""]]
    lines = [*above, [], head, *rows]
    return _workbook(lines, header=len(above) + 2, title=style.code) if form == "xlsx" else _csv(lines)


def _maker_of(style: Style) -> str:
    """The code of the one maker that this style can be from, or an empty text: then it is to be filled in."""
    sewed = list(Maker.objects.filter(deliveries__batches__style=style).distinct()[:2])
    makers = sewed or list(Maker.objects.all()[:2])
    return makers[0].code if len(makers) == 1 else ""


def _csv(lines: Sequence[Sequence[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(lines)
    return BOM + out.getvalue().encode()


def _workbook(lines: Sequence[Sequence[str]], *, header: int, title: str) -> bytes:
    """The lines, the header (a row from 1) and the names above it in bold."""
    from openpyxl import Workbook  # noqa: PLC0415  # a tenth of a second that most requests do not need
    from openpyxl.styles import Font  # noqa: PLC0415  # as above
    from openpyxl.utils import get_column_letter  # noqa: PLC0415  # as above

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title[:31]
    for line in lines:
        sheet.append(list(line))
    for row in range(1, header - 1):
        sheet.cell(row=row, column=1).font = Font(bold=True)
    for place, name in enumerate(lines[header - 1], start=1):
        sheet.cell(row=header, column=place).font = Font(bold=True)
        letter = get_column_letter(place)
        sheet.column_dimensions[letter].width = max(10, len(name) + 2)
        # Text, so that the spreadsheet makes no date of 3/8.
        sheet.column_dimensions[letter].number_format = "@"
    sheet.freeze_panes = f"B{header + 1}"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
