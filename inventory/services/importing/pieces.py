"""The rows of a file as pieces with their readings, column by column.

Everything is kept as one list or array per column: fifty thousand pieces of twenty readings are a million
figures, and an object for each would cost more than reading them.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np
from django.utils import timezone

from inventory.calc.conformity import Lengths
from inventory.calc.length import Unit
from inventory.services.deliveries import FIRST_DAY
from inventory.services.importing.cells import Cell, date_of, text_of
from inventory.services.importing.lengths import read_lengths
from inventory.services.importing.report import Report, listed
from inventory.services.importing.rows import data_lines, filled_down

if TYPE_CHECKING:
    from inventory.models import Maker, Spec, Style, User
    from inventory.services.importing.books import Books
    from inventory.services.importing.files import Table
    from inventory.services.importing.mapping import TableMapping

T = TypeVar("T", bound=Hashable)

FILLED_DOWN: Final = ("maker", "style", "order", "arrived_on", "revision", "cutting")
LONGEST: Final = {"reference": 40, "colour": 40, "carton": 20, "order": 60, "cutting": 60, "note": 120}


@dataclass(frozen=True, slots=True)
class Group:
    """The pieces of one style in one delivery: what becomes a batch."""

    maker: Maker
    order: str
    arrived_on: dt.datetime
    style: Style
    spec: Spec
    cutting: str


@dataclass(slots=True, eq=False)
class Readings:
    """One repeat of one side of one point over all pieces; -1 nm where it was not read."""

    code: str
    side: str
    repeat: int
    label: str
    typed: list[str]
    nm: Lengths
    unit: list[str]
    row: list[int]
    taken_at: list[dt.datetime | None]
    by: list[int]
    tape: list[int | None]
    note: list[str]


@dataclass(slots=True, eq=False)
class Pieces:
    """All pieces of a file; each list has one entry a piece, in the order of the file."""

    labels: list[str]
    row: list[int] = field(default_factory=list)
    group: list[int] = field(default_factory=list)
    size: list[str] = field(default_factory=list)
    reference: list[str] = field(default_factory=list)
    colour: list[str] = field(default_factory=list)
    carton: list[str] = field(default_factory=list)
    taken_at: list[dt.datetime | None] = field(default_factory=list)
    by: list[int] = field(default_factory=list)
    tape: list[int | None] = field(default_factory=list)
    note: list[str] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    readings: list[Readings] = field(default_factory=list)

    def __len__(self) -> int:
        return len(self.row)


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
        self, role: str, texts: Sequence[T], find: Callable[[T], object | None], say: Callable[[T], str]
    ) -> dict[T, object]:
        """What each distinct text stands for; one error for each that stands for nothing, with its first row."""
        found = {}
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
        known = {cell: self._moment(cell) for cell in set(cells)}
        wrong = {cell for cell, moment in known.items() if isinstance(moment, str) and (moment or needed)}
        if wrong:
            for row, cell in zip(self.row, cells, strict=True):
                if cell in wrong:
                    said = known[cell] or "No date stands here. Type one, such as 2024-08-31."
                    self.report.error(row, self.label(role), str(said))
        return [moment if isinstance(moment := known[cell], dt.datetime) else None for cell in cells]

    def _moment(self, cell: Cell) -> dt.datetime | str:
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


def read_pieces(lines: Lines) -> Pieces:
    """The lines as pieces; what is wrong is in the report, and such pieces must not be stored."""
    pieces = Pieces(labels=lines.labels, row=list(lines.row))
    _read_groups(lines, pieces)
    _read_words(lines, pieces)
    if lines.mapping.layout == "long":
        from inventory.services.importing.long_form import gather  # noqa: PLC0415  # it builds on this module

        gather(lines, pieces)
    else:
        _read_columns(lines, pieces)
    _check_references(lines, pieces)
    _check_points(lines, pieces)
    return pieces


def _read_groups(lines: Lines, pieces: Pieces) -> None:
    books, target = lines.books, lines.mapping.target
    makers = lines.texts("maker", target.maker)
    styles = lines.texts("style", target.style)
    revisions = lines.texts("revision", target.revision)
    maker_of = lines.found("maker", makers, lambda text: books.makers.get(text.casefold()), _no_maker)
    style_of = lines.found("style", styles, lambda text: books.styles.get(text.casefold()), _no_style)

    def spec(pair: tuple[str, str]) -> Spec | None:
        style = books.styles.get(pair[0].casefold())
        return None if style is None else books.spec(style, pair[1])

    pairs = list(zip(styles, revisions, strict=True))
    known = [pair if style_of[pair[0]] is not None else ("", "") for pair in pairs]
    spec_of = lines.found(
        "revision", known, lambda pair: spec(pair) if pair[0] else "none", lambda pair: _no_spec(books, *pair)
    )
    orders = lines.texts("order", target.order)
    if "" in orders:
        place = orders.index("")
        lines.report.error(
            lines.row[place], lines.label("order"),
            f"{orders.count('')} rows name no order. Type its reference, or choose one for the whole file.",
        )  # fmt: skip
    arrivals = lines.moments("arrived_on", needed=True)
    if lines.cells("arrived_on") is None:
        arrivals = _fixed_arrival(lines)
    cuttings = lines.texts("cutting")
    places: dict[tuple[object, ...], int] = {}
    for key in zip(makers, styles, revisions, orders, arrivals, cuttings, strict=True):
        place = places.get(key)
        if place is None:
            place = places[key] = len(places)
        pieces.group.append(place)
    for maker, style, revision, order, arrived, cutting in places:  # type: ignore[misc]  # the keys zipped above
        pieces.groups.append(
            Group(
                maker=maker_of[maker],  # type: ignore[index, arg-type]  # None only beside an error in the report
                order=order,  # type: ignore[arg-type]  # as above
                arrived_on=arrived or lines.at,  # type: ignore[arg-type]  # as above
                style=style_of[style],  # type: ignore[index, arg-type]  # as above
                spec=spec_of.get((style, revision)),  # type: ignore[arg-type, index]  # as above
                cutting=cutting,  # type: ignore[arg-type]  # as above
            )
        )


def _fixed_arrival(lines: Lines) -> list[dt.datetime | None]:
    moment = lines._moment(lines.mapping.target.arrived_on)  # noqa: SLF001  # the same module
    if isinstance(moment, str):
        lines.report.error(
            0, "arrived on", moment or "No arrival date. Choose one, or the column that holds it."
        )
        return [None] * len(lines)
    return [moment] * len(lines)


def _no_maker(text: str) -> str:
    return (
        f"Maker {text!r} is not entered. Enter the maker first, or correct the name."
        if text
        else "No maker is named. Choose one for the file, or the column that names it."
    )


def _no_style(text: str) -> str:
    return (
        f"Style {text!r} is not entered. Enter the style first, or correct the code."
        if text
        else "No style is named. Choose one for the file, or the column that names it."
    )


def _no_spec(books: Books, style: str, revision: str) -> str:
    known = books.revisions(books.styles[style.casefold()])
    has = (
        f"It has {listed([str(number) for number in known])}." if known else "It has none that was in force."
    )
    if revision:
        return f"Style {style} has no revision {revision!r} that was in force. {has}"
    return f"Style {style} has no spec in force, so nothing could judge its pieces. {has} Name one, or put one in force."


def _read_words(lines: Lines, pieces: Pieces) -> None:
    """Size, colour, carton, reference; who measured when with which tape."""
    pieces.reference, pieces.colour = lines.texts("reference"), lines.texts("colour")
    pieces.carton = lines.texts("carton")
    specs = [group.spec for group in pieces.groups]
    sizes = lines.texts("size")
    wanted = list(zip([specs[place] and specs[place].pk for place in pieces.group], sizes, strict=True))
    by_pk = {spec.pk: spec for spec in specs if spec is not None}
    size_of = {
        (pk, text): "" if pk is None else lines.books.size(by_pk[pk], text) for pk, text in set(wanted)
    }
    if None in size_of.values():
        for row, key in zip(lines.row, wanted, strict=True):
            if size_of[key] is None:
                lines.report.error(row, lines.label("size"), _no_size(lines.books, by_pk[key[0]], key[1]))
    pieces.size = [size_of[key] or "" for key in wanted]
    pieces.taken_at = lines.moments("measured_on", needed=False)
    pieces.tape = _tapes(lines)
    pieces.by, pieces.note = _people(lines)


def _no_size(books: Books, spec: Spec, text: str) -> str:
    has = listed(list(books.plans(spec).by_size), most=30)
    said = f"Size {text!r} is not in spec {spec}" if text else f"No size stands here; spec {spec} needs one"
    return f"{said}, which has {has}. Correct the size, or name another revision."


def _tapes(lines: Lines) -> list[int | None]:
    texts = lines.texts("tape")
    tape_of = lines.found(
        "tape",
        texts,
        lambda text: lines.books.tapes.get(text.casefold()) if text else "",
        lambda text: f"Tape {text!r} is not entered. Enter it under instruments, or leave the column out.",
    )
    pk_of = {text: getattr(tape, "pk", None) for text, tape in tape_of.items()}
    return [pk_of[text] for text in texts]


def _people(lines: Lines) -> tuple[list[int], list[str]]:
    """Who measured. A name that nobody here has is kept as a note beside the importer's."""
    names, notes = lines.texts("measured_by"), lines.texts("note")
    person_of = {name: lines.books.people.get(name.casefold(), lines.importer).pk for name in set(names)}
    strangers = sorted(name for name in person_of if name and name.casefold() not in lines.books.people)
    if strangers:
        lines.report.remarks.append(
            f"Not known here as people: {listed(strangers)}. Their readings are stored in your name, with a note "
            "saying who read them."
        )
    stranger = {name: f"read by {name}"[:79] if name in strangers else "" for name in person_of}
    said = {
        pair: "; ".join(part for part in (stranger[pair[0]], pair[1]) if part)
        for pair in set(zip(names, notes, strict=True))
    }
    return [person_of[name] for name in names], [said[pair] for pair in zip(names, notes, strict=True)]


def _read_columns(lines: Lines, pieces: Pieces) -> None:
    """The wide form: each column of figures is one side of one point; a second one of the same is a repeat."""
    repeats: Counter[tuple[str, str]] = Counter()
    for place, column in enumerate(lines.mapping.columns):
        if not column.role.startswith("point:"):
            continue
        _, code, side = column.role.split(":")
        repeats[code, side] += 1
        pieces.readings.append(
            _read_column(lines, pieces, place, code=code, side=side, repeat=repeats[code, side])
        )


def _read_column(lines: Lines, pieces: Pieces, place: int, *, code: str, side: str, repeat: int) -> Readings:
    cells, label = lines.columns[place], lines.labels[place]
    found = read_lengths(cells, unit=Unit(lines.mapping.columns[place].unit or lines.mapping.unit))
    complain_of_lengths(lines, label, cells, found.wrong)
    if found.dashes:
        lines.report.remarks.append(
            f"{label}: {found.dashes} cells with a dash or n/a are taken as not read."
        )
    return Readings(
        code=code, side=side, repeat=repeat, label=label,
        typed=found.typed, nm=found.nm, unit=found.unit,
        row=pieces.row, taken_at=pieces.taken_at, by=pieces.by, tape=pieces.tape, note=pieces.note,
    )  # fmt: skip


def complain_of_lengths(lines: Lines, label: str, cells: Sequence[Cell], wrong: object) -> None:
    """An error for each cell whose text is no length."""
    if isinstance(wrong, dict) and wrong:
        for row, cell in zip(lines.row, cells, strict=True):
            if cell in wrong:
                lines.report.error(row, label, wrong[cell])


def _check_references(lines: Lines, pieces: Pieces) -> None:
    if lines.cells("reference") is None:
        return
    keys = list(zip(pieces.group, (text.casefold() for text in pieces.reference), strict=True))
    if len(set(keys)) == len(keys):
        return
    first: dict[tuple[int, str], int] = {}
    for row, reference, key in zip(pieces.row, pieces.reference, keys, strict=True):
        if reference and key in first:
            lines.report.error(
                row, lines.label("reference"),
                f"Piece {reference!r} stands in row {first[key]} already. Give it another reference, or take one out.",
            )  # fmt: skip
        first.setdefault(key, row)


def _check_points(lines: Lines, pieces: Pieces) -> None:
    """A figure in a column whose point the piece's spec does not have must not be lost."""
    group = np.array(pieces.group, np.int64)
    for column in pieces.readings:
        read = column.nm >= 0
        for place, of_group in enumerate(pieces.groups):
            if of_group.spec is None:
                continue
            point = lines.books.plans(of_group.spec).points.get(column.code)
            if point is not None and column.side in point.sides_read:
                continue
            lost = np.flatnonzero(read & (group == place))
            if len(lost):
                what = (
                    f"no point {column.code}" if point is None else f"no side {column.side} of {column.code}"
                )
                lines.report.error(
                    column.row[lost[0]], column.label,
                    f"Spec {of_group.spec} has {what}, but {len(lost)} readings stand there. Leave the column out, or "
                    "choose another point.",
                )  # fmt: skip
