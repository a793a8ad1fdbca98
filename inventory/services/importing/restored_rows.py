"""The rows of an export's tables, held to what their columns may hold, in bearable room.

A shop of a million readings has eighteen million cells; most of them repeat, so each different text of a
column is read, checked and kept once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, Final

from django.core.exceptions import ValidationError
from django.db import models
from django.db.backends.base.operations import BaseDatabaseOperations

from inventory.services.exporting.cells import CellWrong, read
from inventory.services.exporting.columns import Column, Table
from inventory.services.importing.refusals import FileNotReadable

Row = dict[str, Any]  # Any: values of every kind of column

MOST_ROWS: Final = 3_000_000
MOST_CELLS: Final = 50_000_000
HIGHEST_ID: Final = 2**53
_RANGES: Final = BaseDatabaseOperations.integer_field_ranges
"""Of the databases that hold numbers to their size: a file must mean the same in all."""
_EACH_DIFFERS: Final = frozenset({"key", "moment", "json"})


class Rows:
    """The rows of one table: tuples of values in the order of `names`."""

    __slots__ = ("lines", "names")

    def __init__(self, names: Sequence[str] = (), lines: Iterable[tuple[Any, ...]] = ()) -> None:
        self.names = tuple(names)
        self.lines = list(lines)

    def __len__(self) -> int:
        return len(self.lines)

    def __iter__(self) -> Iterator[Row]:
        """The rows by column name: for the small tables."""
        return (dict(zip(self.names, line, strict=True)) for line in self.lines)

    def places(self, names: Sequence[str]) -> list[int]:
        """Where the named columns stand in a line."""
        return [self.names.index(name) for name in names]


class Room:
    """Counts what was read, so that a small file that unpacks to a giant one is left in time."""

    def __init__(self) -> None:
        self.rows = self.cells = 0

    def take(self, cells: int) -> None:
        """One more row. Raises `FileNotReadable` beyond the limits."""
        self.rows += 1
        self.cells += cells
        if self.rows > MOST_ROWS or self.cells > MOST_CELLS:
            raise FileNotReadable(
                f"The export holds more than {MOST_ROWS:,} rows or {MOST_CELLS:,} cells, which is more than "
                "is read. Restore from a copy of the data folder instead.",
                field="file",
            )


def read_rows(
    table: Table, head: Sequence[str], lines: Iterable[Sequence[Any]], *, from_json: bool, room: Room
) -> Rows:
    """The lines of one table as values. Raises `FileNotReadable`, or `CellWrong` naming table and row."""
    columns = {column.name: column for column in table.columns}
    missing = [name for name in columns if name not in head]
    if missing:
        raise FileNotReadable(
            f"Table {table.name} of the export lacks {', '.join(missing)}. Was it edited? Write a new one.",
            field="file",
        )
    places = [head.index(name) for name in columns]
    readers = [_reader(table, column, from_json=from_json) for column in table.columns]
    rows = Rows(tuple(columns))
    for number, line in enumerate(lines, start=2):
        if len(line) < len(head) and from_json:
            raise FileNotReadable(f"Row {number - 1} of table {table.name} is too short.", field="file")
        room.take(len(readers))
        try:
            rows.lines.append(
                tuple(
                    reader(line[place] if place < len(line) else None)
                    for place, reader in zip(places, readers, strict=True)
                )
            )
        except CellWrong as wrong:
            raise CellWrong(f"Table {table.name}, row {number}: {wrong}") from wrong
    return rows


def _reader(table: Table, column: Column, *, from_json: bool) -> Callable[[Any], Any]:
    check = _check_of(table, column)

    def each(cell: Any) -> Any:
        value = read(cell, column, from_json=from_json)
        check(value)
        return value

    if column.kind in _EACH_DIFFERS:
        return each
    known: dict[Any, Any] = {}

    def once(cell: Any) -> Any:
        try:
            if cell in known:
                return known[cell]
        except TypeError as problem:  # a list or a document where a value should stand
            raise CellWrong(f"{column.name} holds {str(cell)[:60]!r}, which is no single value.") from problem
        value = known[cell] = each(cell)
        return value

    return once


def _check_of(table: Table, column: Column) -> Callable[[Any], None]:
    """What the column's field in the database allows; nothing is asked of names of other rows."""
    own = {field.name: field for field in table.model._meta.concrete_fields}  # noqa: SLF001  # Django's way
    field = own.get(column.path)
    if column.kind == "key" and column.path == "pk":
        return lambda value: _check_id(column, value)
    is_named = column.kind == "json" and not isinstance(field, models.JSONField)  # the name of another row
    if field is None or field.is_relation or is_named:
        return lambda _value: None
    return lambda value: _check_field(field, column, value)


def _check_id(column: Column, value: Any) -> None:
    if value is None or not 0 < value < HIGHEST_ID:
        raise CellWrong(f"{column.name} holds {value!r}, which is no number of a row.")


def _check_field(field: models.Field[Any, Any], column: Column, value: Any) -> None:
    if value is None or value == "":
        if not field.null and (column.kind != "text" or (field.choices and not field.blank)):
            raise CellWrong(f"{column.name} is empty, and must not be.")
        return
    if column.kind in ("json", "moment", "day", "yes"):
        return
    if isinstance(value, int) and field.get_internal_type() in _RANGES:
        low, high = _RANGES[field.get_internal_type()]
        if not low <= value <= high:
            raise CellWrong(f"{column.name} holds {value}, which is not from {low} to {high}.")
    try:
        field.clean(value, None)
    except ValidationError as refusal:
        raise CellWrong(f"{column.name} holds {str(value)[:60]!r}: {' '.join(refusal.messages)}") from refusal
