"""The rows of a file as pieces with their readings, column by column.

Everything is kept as one list or array per column: fifty thousand pieces of twenty readings are a million
figures, and an object for each would cost more than reading them.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from inventory.calc.conformity import Lengths
from inventory.calc.length import Unit
from inventory.services.importing.cells import Cell
from inventory.services.importing.groups import Group, group_lines
from inventory.services.importing.lengths import read_lengths
from inventory.services.importing.lines import Lines
from inventory.services.importing.matching import match_pieces
from inventory.services.importing.met_before import find_met_before
from inventory.services.importing.namesakes import Named
from inventory.services.importing.words import read_words


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
    person: list[str]
    """Who read it, as the file says; the importer's name where it does not."""


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
    person: list[str] = field(default_factory=list)
    existing: list[int | None] = field(default_factory=list)
    """The key of a piece that is numbered already; None for one that the file makes."""
    groups: list[Group] = field(default_factory=list)
    readings: list[Readings] = field(default_factory=list)
    named: list[Named] = field(default_factory=list)
    """The names of those who measured, and whom they mean here."""

    def __len__(self) -> int:
        return len(self.row)


def read_pieces(lines: Lines) -> Pieces:
    """The lines as pieces; what is wrong is in the report, and such pieces must not be stored."""
    pieces = Pieces(labels=lines.labels, row=list(lines.row))
    pieces.group, pieces.groups = group_lines(lines)
    read_words(lines, pieces)
    if lines.mapping.layout == "long":
        from inventory.services.importing.long_form import gather  # noqa: PLC0415  # it builds on this module

        gather(lines, pieces)
    else:
        _read_columns(lines, pieces)
    pieces.existing = [None] * len(pieces)
    _check_references(lines, pieces)
    match_pieces(lines, pieces)
    find_met_before(lines, pieces)
    _check_points(lines, pieces)
    return pieces


def _read_columns(lines: Lines, pieces: Pieces) -> None:
    """The wide form: each column of figures is one side of one point; a second one is a repeat."""
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
    _complain(lines, label, cells, found.wrong)
    if found.dashes:
        lines.report.remarks.append(
            f"{label}: {found.dashes} cells with a dash or n/a are taken as not read."
        )
    return Readings(
        code=code, side=side, repeat=repeat, label=label,
        typed=found.typed, nm=found.nm, unit=found.unit,
        row=pieces.row, taken_at=pieces.taken_at, by=pieces.by, tape=pieces.tape, note=pieces.note,
        person=pieces.person,
    )  # fmt: skip


def _complain(lines: Lines, label: str, cells: Sequence[Cell], wrong: Mapping[Cell, str]) -> None:
    """An error for each cell whose text is no length."""
    for row, cell in zip(lines.row, cells, strict=True) if wrong else ():
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
                f"Piece {reference!r} stands in row {first[key]} already. Give it another reference, or "
                "take one out.",
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
                    f"Spec {of_group.spec} has {what}, but {len(lost)} readings stand there. Leave the "
                    "column out, or "
                    "choose another point.",
                )  # fmt: skip
