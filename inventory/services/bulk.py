"""Many rows at once, past the object mapper: the road for imports of hundreds of thousands of readings.

Ids are reserved up front, so that rows of one table can name rows of another before anything is written. On
SQLite the transaction holds the one write lock, so the next free numbers are nobody else's; on PostgreSQL
they are drawn from the table's own sequence.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from django.db import connection
from django.db.models import Field

if TYPE_CHECKING:
    from django.db import models


def reserve_ids(model: type[models.Model], count: int) -> Sequence[int]:
    """Numbers for `count` new rows, ascending; call inside the transaction that writes them."""
    if not connection.in_atomic_block:
        raise RuntimeError(
            "reserve_ids works inside transaction.atomic() only; elsewhere the ids are anybody's."
        )
    table = model._meta.db_table  # noqa: SLF001  # Django's documented way to a model's table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)", [table, count]
            )
            return sorted(row[0] for row in cursor.fetchall())
        cursor.execute(f'SELECT COALESCE(MAX(id), 0) FROM "{table}"')  # noqa: S608  # a table of ours
        highest = cursor.fetchone()[0]
        cursor.execute("SELECT COALESCE(MAX(seq), 0) FROM sqlite_sequence WHERE name = %s", [table])
        first = max(highest, cursor.fetchone()[0]) + 1
    return range(first, first + count)


def pass_ids(model: type[models.Model]) -> None:
    """After rows were written with numbers of their own: let the next new row get a higher one."""
    if connection.vendor != "postgresql":
        return  # SQLite looks at the rows themselves
    table = model._meta.db_table  # noqa: SLF001  # Django's documented way to a model's table
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT setval(pg_get_serial_sequence(%s, 'id'), COALESCE(MAX(id), 0) + 1, false) "  # noqa: S608
            f'FROM "{table}"',
            [table],
        )


def insert_rows(model: type[models.Model], names: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Insert rows of values (Any: as the database takes them) for the named fields, in one sweep.

    Nothing is checked but what the database checks; name every column of the table that has no default.
    """
    meta = model._meta  # noqa: SLF001  # Django's documented way to a model's table and columns
    columns = ", ".join(f'"{_column(model, name)}"' for name in names)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f'COPY "{meta.db_table}" ({columns}) FROM STDIN') as copy:
                for row in rows:
                    copy.write_row(row)
            return
        marks = ", ".join(["%s"] * len(names))
        sql = f'INSERT INTO "{meta.db_table}" ({columns}) VALUES ({marks})'  # noqa: S608  # names of ours
        cursor.executemany(sql, rows)  # type: ignore[arg-type]  # any iterable, says the database interface


def _column(model: type[models.Model], name: str) -> str:
    field = model._meta.get_field(name)  # noqa: SLF001  # Django's documented way to a model's fields
    assert isinstance(field, Field)
    assert field.column is not None
    return field.column


def moment(value: Any) -> Any:  # Any: a moment or None, to what the database takes
    """A moment as the database takes it in `insert_rows`."""
    return connection.ops.adapt_datetimefield_value(value)
