"""One table of an export into the database, past the object mapper, its references found again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from operator import itemgetter
from typing import Any

from django.db import connection, models

from inventory.services.bulk import insert_rows, moment, pass_ids, reserve_ids
from inventory.services.exporting.columns import Column, Ref, Table
from inventory.services.importing.refusals import FileNotReadable
from inventory.services.importing.restored_rows import Rows

Key = tuple[Any, ...]  # Any: values of key columns
Keys = dict[str, dict[Key, int]]
"""Of each table written so far: the numbers of its rows by their keys."""


def write_table(table: Table, rows: Rows, keys: Keys) -> None:
    """All rows of one table; afterwards `keys` knows them."""
    if table.keeps_id:
        (place,) = rows.places([next(column.name for column in table.columns if column.path == "pk")])
        ids = [line[place] for line in rows.lines]
    else:
        ids = list(reserve_ids(table.model, len(rows)))
    known = keys[table.name] = {}
    of_key = rows.places(table.key)
    for number, line in zip(ids, rows.lines, strict=True):
        key = tuple(line[place] for place in of_key)
        if key in known:
            raise FileNotReadable(f"Table {table.name} has {said_key(key)} twice. Was the export edited?")
        known[key] = number
    insert_table(table, rows, ids, keys)
    if table.keeps_id:
        pass_ids(table.model)


def insert_table(table: Table, rows: Rows, ids: list[int], keys: Keys) -> None:
    """The rows under these numbers."""
    fields = [column for column in table.columns if is_field(table.model, column.path)]
    names = ["id", *(column.path for column in fields), *(ref.field for ref in table.refs), *table.blank]
    blank = ("",) * len(table.blank)
    writers = [
        (place, _writer(table.model, column))
        for column, place in zip(fields, rows.places([column.name for column in fields]), strict=True)
    ]
    finders = [_finder(ref, rows, keys, table) for ref in table.refs]

    def lines() -> Iterator[tuple[Any, ...]]:  # Any: as the database takes them
        for number, line in zip(ids, rows.lines, strict=True):
            yield (
                number,
                *(write(line[place]) for place, write in writers),
                *(find(line) for find in finders),
                *blank,
            )

    insert_rows(table.model, names, lines())


def is_field(model: type[models.Model], name: str) -> bool:
    """Whether a column is a field of the model itself and names no other row."""
    fields = model._meta.concrete_fields  # noqa: SLF001  # Django's documented way to a model's fields
    return any(field.name == name and not field.is_relation for field in fields)


def _writer(model: type[models.Model], column: Column) -> Callable[[Any], Any]:
    """How a value of a column goes into the database; a text that may not be nothing is empty instead."""
    field = model._meta.get_field(column.path)  # noqa: SLF001  # Django's documented way to a model's fields
    assert isinstance(field, models.Field)
    if column.kind == "moment":
        return moment
    if column.kind == "text" and isinstance(field, models.UUIDField):
        return lambda value: field.get_db_prep_value(value or None, connection)
    if column.kind == "text" and not field.null:
        return lambda value: value or ""
    if column.kind in ("decimal", "day"):
        return lambda value: field.get_db_prep_save(value, connection)
    return lambda value: value


def _finder(ref: Ref, rows: Rows, keys: Keys, of: Table) -> Callable[[tuple[Any, ...]], int | None]:
    """How a line's reference becomes the number of the row it names."""
    places = rows.places(ref.columns)
    last, known = places[-1], keys[ref.table]
    key_of = itemgetter(*places) if len(places) > 1 else lambda line: (line[last],)
    field = of.model._meta.get_field(ref.field)  # noqa: SLF001  # Django's documented way to a model's fields

    def find(line: tuple[Any, ...]) -> int | None:
        if line[last] is None or line[last] == "":
            if not field.null:
                raise FileNotReadable(
                    f"Table {of.name} has a row that names no {ref.columns[-1]}. Was the export edited?"
                )
            return None
        found = known.get(key_of(line))
        if found is None:
            raise FileNotReadable(
                f"Table {of.name} names {said_key(key_of(line))}, which table {ref.table} does not have. Was "
                "the export edited?"
            )
        return found

    return find


def said_key(key: Key) -> str:
    """A key in words."""
    return " ".join(str(part) for part in key)
