"""A spec sheet read line by line: sizes in order, and for each point its row of figures as typed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from inventory.models import Style
from inventory.services.importing.books import known_points
from inventory.services.importing.cells import Cell, date_said, text_of
from inventory.services.importing.lengths import EMPTY_SIGNS
from inventory.services.importing.roles import PointGuesser
from inventory.services.importing.rows import data_lines
from inventory.services.spec_entries import CellEntry, PointEntry, size_column

if TYPE_CHECKING:
    from inventory.services.importing.files import Table
    from inventory.services.importing.mapping import TableMapping
    from inventory.services.importing.report import Report

_BASIS = {
    "half": "half", "per half": "half", "as read": "half", "h": "half",
    "full": "full", "full girth": "full", "closed": "full", "whole": "full", "f": "full",
}  # fmt: skip
_TWO_SIDED = re.compile(
    r"\+\s*(?P<plus>[^/+-]+?)\s*/\s*[-−–]\s*(?P<minus>.+)|[-−–]\s*(?P<low>[^/+-]+?)\s*/\s*\+\s*(?P<high>.+)"
)
_BOTH = re.compile(r"(?:±|\+/-|\+-)\s*")


@dataclass(slots=True)
class SpecRead:
    """A spec sheet as it will be typed in: sizes in order, and a row of figures by point code."""

    style: Style | None
    sizes: list[str] = field(default_factory=list)
    base_size: str = ""
    entries: dict[str, PointEntry] = field(default_factory=dict)
    rows: dict[str, int] = field(default_factory=dict)
    size_rows: dict[tuple[str, str], int] = field(default_factory=dict)

    def row_of(self, code: str, size: str = "") -> int:
        """The row a figure stands in, as a spreadsheet counts; 0 where there is none."""
        return self.size_rows.get((code, size)) or self.rows.get(code, 0)


def read_sheet(table: Table, mapping: TableMapping, labels: Sequence[str], report: Report) -> SpecRead:
    """The sheet as typed; what cannot be taken is in the report."""
    style = Style.objects.filter(code__iexact=mapping.target.style).first() if mapping.target.style else None
    sheet = SpecRead(style)
    places = {column.role: place for place, column in enumerate(mapping.columns) if column.role}
    figures = [place for role, place in places.items() if role.startswith("size:") or role == "nominal"]
    lines, numbers = data_lines(table, mapping, report, telling=figures, identity=[places["point"]])
    guesser = PointGuesser(known_points([style] if style else None))
    sheet.sizes = [role.partition(":")[2] for role in places if role.startswith("size:")]
    for row, line in zip(numbers, lines, strict=True):
        reader = _LineReader(row, line, mapping=mapping, places=places, labels=labels, report=report)
        text = reader.text("point")
        point = guesser.point(text)
        if point is None:
            where = f"style {style.code}" if style else "any style"
            report.error(
                row, labels[places["point"]], f"{text!r} is no point of {where}. Add the point first."
            )
        elif mapping.layout == "long":
            _add_long(sheet, point.code, reader)
        elif point.code in sheet.entries:
            report.error(
                row, labels[places["point"]], f"{point.code} stands in row {sheet.rows[point.code]} already."
            )
        else:
            sheet.entries[point.code] = reader.entry(sheet.sizes)
            sheet.rows[point.code] = row
    chosen = mapping.target.base_size
    sheet.base_size = chosen or (sheet.sizes[len(sheet.sizes) // 2] if sheet.sizes else "")
    return sheet


def _add_long(sheet: SpecRead, code: str, reader: _LineReader) -> None:
    size = reader.text("size")
    if not size:
        reader.refuse("size", "No size stands here. Type one.")
        return
    if (code, size) in sheet.size_rows:
        reader.refuse("size", f"{code} in size {size} stands in row {sheet.size_rows[code, size]} already.")
        return
    if size not in sheet.sizes:
        sheet.sizes.append(size)
    sheet.size_rows[code, size] = reader.row
    minus, plus = reader.tolerance()
    known = sheet.entries.get(code) or replace(reader.entry([]), minus="", plus="")
    cell = CellEntry(nominal=reader.figure("nominal"), minus=minus, plus=plus)
    sheet.entries[code] = replace(known, cells={**known.cells, size: cell})
    sheet.rows.setdefault(code, reader.row)


class _LineReader:
    """One line of the sheet, by role."""

    def __init__(
        self,
        row: int,
        line: Sequence[Cell],
        *,
        mapping: TableMapping,
        places: dict[str, int],
        labels: Sequence[str],
        report: Report,
    ) -> None:
        self.row, self._line, self._mapping = row, line, mapping
        self._places, self._labels, self._report = places, labels, report

    def refuse(self, role: str, sentence: str) -> None:
        """Note what is wrong with a cell of this line."""
        place = self._places.get(role)
        self._report.error(self.row, role if place is None else self._labels[place], sentence)

    def text(self, role: str) -> str:
        """The cell of a role as text; empty where no column has it."""
        place = self._places.get(role)
        return "" if place is None else text_of(self._line[place])

    def figure(self, role: str) -> str:
        """A length as typed, in the unit its column names."""
        place = self._places.get(role)
        if place is None:
            return ""
        cell = self._line[place]
        if not isinstance(cell, str):
            self.refuse(
                role, f"{date_said(cell)} stands here, a date and no length. Type the figure as text."
            )
            return ""
        text = "" if cell.strip() in EMPTY_SIGNS else cell.strip()
        unit = self._mapping.columns[place].unit
        return f"{text} {unit}" if text and unit and text[-1].isdigit() else text

    def tolerance(self) -> tuple[str, str]:
        """Minus and plus: from their own columns, else from the one for both (`6`, `±6`, `+6/-4`)."""
        minus, plus = self.figure("minus"), self.figure("plus")
        both = self.figure("tolerance")
        if match := _TWO_SIDED.fullmatch(both):
            both_minus, both_plus = match["minus"] or match["low"], match["plus"] or match["high"]
        else:
            both_minus = both_plus = _BOTH.sub("", both)
        return minus or both_minus, plus or both_plus

    def entry(self, sizes: Sequence[str]) -> PointEntry:
        """The whole line as a row of the grid."""
        minus, plus = self.tolerance()
        basis = self.text("basis").casefold()
        if basis and basis not in _BASIS:
            self.refuse("basis", f"{self.text('basis')!r} was not understood. Type half or full.")
        cells = {size: CellEntry(nominal=self.figure(size_role(size))) for size in sizes}
        return PointEntry(
            basis=_BASIS.get(basis, ""),
            minus=minus,
            plus=plus,
            pair_limit=self.figure("pair_limit"),
            step=self.figure("step"),
            cells=cells,
        )


def size_role(size: str) -> str:
    """The role of the column that holds the nominals of a size."""
    return size_column(size).replace("nominal:", "size:")
