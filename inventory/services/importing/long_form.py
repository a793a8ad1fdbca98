"""The long form, one line a reading: gathered into pieces."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from inventory.calc.length import Unit
from inventory.services.importing.books import known_points
from inventory.services.importing.cells import Cell
from inventory.services.importing.lengths import NOT_READ, read_lengths
from inventory.services.importing.lines import Lines
from inventory.services.importing.pieces import Pieces, Readings
from inventory.services.importing.roles import PointGuesser, side_of, words_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.services.importing.roles import KnownPoint

_UNIT_WORDS = {
    "mm": Unit.MM,
    "cm": Unit.CM,
    "in": Unit.INCH,
    "inch": Unit.INCH,
    "inches": Unit.INCH,
    '"': Unit.INCH,
}


def gather(lines: Lines, pieces: Pieces) -> None:
    """Turn one entry a line into one entry a piece, the readings in columns by point, side, repeat."""
    cells = lines.cells("reading")
    places = _columns_of(lines)
    if cells is None or places is None:
        return
    typed, nm, units = _read(lines, cells)
    first, of_line = _pieces_of(lines, pieces)
    repeats: Counter[tuple[int, str, str]] = Counter()
    found: dict[tuple[str, str, int], Readings] = {}
    for line, (piece, column) in enumerate(zip(of_line, places, strict=True)):
        if column is None or nm[line] < 0:
            continue
        code, side = column
        repeats[piece, code, side] += 1
        key = (code, side, repeats[piece, code, side])
        readings = found.get(key) or found.setdefault(key, _empty(key, lines.label("reading"), len(first)))
        readings.typed[piece], readings.nm[piece], readings.unit[piece] = typed[line], nm[line], units[line]
        readings.row[piece], readings.taken_at[piece] = lines.row[line], pieces.taken_at[line]
        readings.by[piece], readings.tape[piece] = pieces.by[line], pieces.tape[line]
        readings.note[piece], readings.person[piece] = pieces.note[line], pieces.person[line]
    pieces.readings = list(found.values())
    for name in (
        "row",
        "group",
        "size",
        "reference",
        "colour",
        "carton",
        "taken_at",
        "by",
        "tape",
        "note",
        "person",
    ):
        values = getattr(pieces, name)
        setattr(pieces, name, [values[line] for line in first])


def _pieces_of(lines: Lines, pieces: Pieces) -> tuple[list[int], list[int]]:
    """The first line of each piece, and for each line the piece it belongs to."""
    known: dict[tuple[int, str], int] = {}
    first: list[int] = []
    of_line = []
    for line, key in enumerate(
        zip(pieces.group, (text.casefold() for text in pieces.reference), strict=True)
    ):
        piece = known.get(key)
        if piece is None:
            piece = known[key] = len(first)
            first.append(line)
            if not key[1]:
                lines.report.error(
                    lines.row[line], lines.label("reference"),
                    "No piece reference stands here, so the reading belongs to no piece. Type one.",
                )  # fmt: skip
        elif pieces.size[line] != pieces.size[first[piece]]:
            lines.report.error(
                lines.row[line], lines.label("size"),
                f"Piece {pieces.reference[line]!r} is size {pieces.size[line]} here and size "
                f"{pieces.size[first[piece]]} in row {lines.row[first[piece]]}. Correct one of them.",
            )  # fmt: skip
        of_line.append(piece)
    return first, of_line


def _columns_of(lines: Lines) -> list[tuple[str, str] | None] | None:
    """The point code and side of each line; None where the report has an error for it."""
    points = lines.cells("point")
    if points is None:
        lines.report.error(0, "point", "No column says which point was read. Choose it.")
        return None
    texts = lines.texts("point")
    sides = lines.texts("side")
    guesser = PointGuesser(known_points())
    known = {key: _column(guesser, *key) for key in set(zip(texts, sides, strict=True))}
    found: list[tuple[str, str] | None] = []
    for row, key in zip(lines.row, zip(texts, sides, strict=True), strict=True):
        column = known[key]
        if isinstance(column, str):
            lines.report.error(row, lines.label("point"), column)
            found.append(None)
        else:
            found.append(column)
    return found


def _column(guesser: PointGuesser, text: str, side: str) -> tuple[str, str] | str:
    role = guesser.role(f"{text} {side}".strip())
    if role:
        _, code, found = role.split(":")
        return code, found
    point: KnownPoint | None = guesser.point(text)
    if point is None:
        return f"{text!r} is no point of a style here. Use its code, such as WA."
    if side and not side_of(side):
        return f"Side {side!r} was not understood. Type L or R."
    given = words_of(side) or "no side"
    return f"{point.code} is read on {' and '.join(point.sides)}; {given} was given. Type one of them."


def _read(lines: Lines, cells: Sequence[Cell]) -> tuple[list[str], list[int], list[str]]:
    """Text, length and unit of each line, in the unit its own column names or the file's."""
    place = lines.mapping.place_of("reading")
    assert place is not None
    whole = Unit(lines.mapping.columns[place].unit or lines.mapping.unit)
    named = lines.texts("unit")
    unit_of = lines.found(
        "unit", named, lambda text: _UNIT_WORDS.get(text.casefold().rstrip(".")) if text else whole,
        lambda text: f"Unit {text!r} is not mm, cm or inch. Type one of these.",
    )  # fmt: skip
    typed, nm, units = [""] * len(cells), [NOT_READ] * len(cells), [whole.value] * len(cells)
    for text, unit in unit_of.items():
        if not isinstance(unit, Unit):
            continue
        chosen = [line for line, name in enumerate(named) if name == text]
        found = read_lengths([cells[line] for line in chosen], unit=unit)
        for at, line in enumerate(chosen):
            typed[line], nm[line], units[line] = found.typed[at], int(found.nm[at]), found.unit[at]
            if cells[line] in found.wrong:
                lines.report.error(lines.row[line], lines.label("reading"), found.wrong[cells[line]])
    return typed, nm, units


def _empty(key: tuple[str, str, int], label: str, pieces: int) -> Readings:
    code, side, repeat = key
    return Readings(
        code=code, side=side, repeat=repeat, label=f"{label} ({code} {side})",
        typed=[""] * pieces, nm=np.full(pieces, NOT_READ, np.int64), unit=[""] * pieces,
        row=[0] * pieces, taken_at=[None] * pieces, by=[0] * pieces, tape=[None] * pieces, note=[""] * pieces,
        person=[""] * pieces,
    )  # fmt: skip
