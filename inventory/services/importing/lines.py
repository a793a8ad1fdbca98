"""The data lines of a table by role: texts, dates, and what the names in them stand for."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from typing import TYPE_CHECKING, Final, TypeVar

from django.utils import timezone

from inventory.services.deliveries import FIRST_DAY
from inventory.services.importing.cells import Cell, date_of, text_of
from inventory.services.importing.rows import data_lines, filled_down

if TYPE_CHECKING:
    from inventory.models import User
    from inventory.services.importing.books import Books
    from inventory.services.importing.files import Table
    from inventory.services.importing.mapping import TableMapping
    from inventory.services.importing.report import Report

T = TypeVar("T", bound=Hashable)
Found = TypeVar("Found")

FILLED_DOWN: Final = ("maker", "style", "order", "arrived_on", "revision", "cutting")
LONGEST: Final = {"reference": 40, "colour": 40, "carton": 20, "order": 60, "cutting": 60, "note": 120}


class Lines:
    """The data lines of a table by role, with the report to complain to."""

    def __init__(
        self, table: Table, mapping: TableMapping, labels: list[str], books: Books, report: Report,
        *, by: User, at: dt.datetime,
    ) -> None:  # fmt: skip
        self.mapping, self.labels, self.books, self.report = mapping, labels, books, report
        self.importer, self.at = by, at
        figures = [
            place for place, column in enumerate(mapping.columns)
            if column.role.startswith("point:") or column.role == "reading"
        ]  # fmt: skip
        size = mapping.place_of("size")
        identity = [place for role in ("reference", "order") if (place := mapping.place_of(role)) is not None]
        lines, self.row = data_lines(
            table,
            mapping,
            report,
            telling=[*([] if size is None else [size]), *figures],
            identity=identity or range(len(mapping.columns)),
        )
        self.columns: list[Sequence[Cell]] = (
            list(zip(*[line[: len(mapping.columns)] for line in lines], strict=True))
            if lines
            else [()] * len(mapping.columns)
        )

    def __len__(self) -> int:
        return len(self.row)

    def label(self, role: str) -> str:
        """The name the file gives to the column of a role."""
        place = self.mapping.place_of(role)
        return role.replace("_", " ") if place is None else self.labels[place]

    def cells(self, role: str) -> Sequence[Cell] | None:
        """The cells of a role, or None when no column has it."""
        place = self.mapping.place_of(role)
        if place is None:
            return None
        cells = self.columns[place]
        return filled_down(cells) if self.mapping.fill_down and role in FILLED_DOWN else cells

    def texts(self, role: str, default: str = "") -> list[str]:
        """The cells of a role as texts of bearable length."""
        cells = self.cells(role)
        if cells is None:
            return [default] * len(self)
        known = {cell: text_of(cell) for cell in set(cells)}
        most = LONGEST.get(role)
        if most is not None and any(len(text) > most for text in known.values()):
            for row, cell in zip(self.row, cells, strict=True):
                if len(known[cell]) > most:
                    self.report.error(
                        row,
                        self.label(role),
                        f"{known[cell][:60]!r} is longer than {most} signs. Shorten it.",
                    )
        return [known[cell] for cell in cells]

    def found(
        self, role: str, texts: Sequence[T], find: Callable[[T], Found | None], say: Callable[[T], str]
    ) -> dict[T, Found | None]:
        """What each distinct text stands for; one error, with the first row, for each that means nothing."""
        found: dict[T, Found | None] = {}
        for text, count in Counter(texts).items():
            thing = find(text)
            if thing is None:
                first = self.row[texts.index(text)]
                more = f" ({count} rows)" if count > 1 else ""
                self.report.error(first, self.label(role), say(text) + more)
            found[text] = thing
        return found

    def moments(self, role: str, *, needed: bool) -> list[dt.datetime | None]:
        """The dates of a role as moments: a day without a time is its noon, and never after now."""
        cells = self.cells(role)
        if cells is None:
            return [None] * len(self)
        known = {cell: self.moment(cell) for cell in set(cells)}
        wrong = {cell for cell, moment in known.items() if isinstance(moment, str) and (moment or needed)}
        if wrong:
            for row, cell in zip(self.row, cells, strict=True):
                if cell in wrong:
                    said = known[cell] or "No date stands here. Type one, such as 2024-08-31."
                    self.report.error(row, self.label(role), str(said))
        return [moment if isinstance(moment := known[cell], dt.datetime) else None for cell in cells]

    def moment(self, cell: Cell) -> dt.datetime | str:
        """The moment, or what is wrong with the cell: an empty text when it is empty."""
        text = text_of(cell)
        if not text:
            return ""
        day = date_of(cell, day_first=self.mapping.day_first)
        if day is None:
            return f"{text!r} was not read as a date. Type it as 2024-08-31."
        if day.date() < FIRST_DAY:
            return f"{text!r} lies before {FIRST_DAY.year}. Check the year."
        if day.time() == dt.time():
            day = day.replace(hour=12)
        moment = timezone.make_aware(day)
        if moment > self.at:
            if timezone.localdate(moment) > timezone.localdate(self.at):
                return f"{text!r} lies in the future. Check day and month, and which comes first."
            return self.at
        return moment
