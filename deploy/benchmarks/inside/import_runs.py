"""Import a file, and insert the same rows barely, in turn; each time into a folder as new."""

from __future__ import annotations

import csv
import io
import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.db import connection

from deploy.benchmarks.inside import stock
from deploy.benchmarks.rounds import RUNS, seconds
from inventory.models import ImportRun, Reading, User
from inventory.services.importing.stored_readings import READING

if TYPE_CHECKING:
    from collections.abc import Sequence

PRAGMAS = "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"  # as in shop_qc/settings.py

Rows = list[tuple[Any, ...]]  # Any: what SQLite can hold


def main(arguments: Sequence[str]) -> None:
    """`PIECES`: print the seconds of each run by part."""
    pieces = int(arguments[0])
    stock.start_shop()
    database = Path(settings.DATA_DIR) / "shop.sqlite3"
    empty = database.with_name("empty.sqlite3")
    _in_one_file()
    shutil.copy(database, empty)
    found: dict[str, Any] = {"check": [], "store": [], "csv": [], "insert": []}
    for run in range(RUNS):
        _put_back(empty, database)
        content = stock.measured_file(pieces, order=f"PO-{run}")
        _import(content, found, name=f"run-{run}.csv")
        columns, rows, found["others"] = _rows_of(database)
        _insert(content, columns, rows, found, target=database.with_name(f"bare-{run}.sqlite3"))
    print(json.dumps(found))


def _import(content: bytes, found: dict[str, Any], *, name: str) -> None:
    by = User.objects.get(username="owner")
    made: list[ImportRun] = []
    found["check"].append(seconds(lambda: made.append(stock.upload(content, name=name, by=by))))
    found["store"].append(seconds(lambda: stock.store(made[0], by=by)))


def _insert(content: bytes, columns: list[str], rows: Rows, found: dict[str, Any], *, target: Path) -> None:
    """`csv.reader` over the file, then one committed `executemany` of the rows as they are."""
    text = content.decode()
    found["csv"].append(seconds(lambda: list(csv.reader(io.StringIO(text, newline="")))))
    marks = ", ".join("?" * len(columns))
    with closing(sqlite3.connect(target)) as bare:
        bare.executescript(PRAGMAS)
        bare.execute(f"CREATE TABLE reading (id integer PRIMARY KEY, {', '.join(columns[1:])})")
        bare.commit()

        def insert() -> None:
            bare.executemany(f"INSERT INTO reading VALUES ({marks})", rows)  # noqa: S608  # question marks
            bare.commit()

        found["insert"].append(seconds(insert))


def _rows_of(database: Path) -> tuple[list[str], Rows, int]:
    """The reading rows just stored, in the columns the import writes, and how many other rows it wrote."""
    fields = {field.name: str(field.column) for field in Reading._meta.concrete_fields}  # noqa: SLF001
    columns = [fields[name] for name in READING]
    with closing(sqlite3.connect(database)) as reader:
        rows = reader.execute(
            f"SELECT {', '.join(columns)} FROM inventory_reading ORDER BY id"  # noqa: S608  # names of ours
        ).fetchall()
        others = [
            reader.execute(f"SELECT COUNT(*) FROM inventory_{table}").fetchone()[0]  # noqa: S608  # as above
            for table in ("piece", "inspection", "pieceverdict")
        ]
    return columns, rows, sum(others)


def _in_one_file() -> None:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


def _put_back(empty: Path, database: Path) -> None:
    connection.close()
    for left in ("-wal", "-shm"):
        database.with_name(database.name + left).unlink(missing_ok=True)
    shutil.copy(empty, database)
