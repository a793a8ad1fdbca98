"""A whole export into an empty shop: all rows as they were, and every current verdict worked out again.

Rows are written past the object mapper, with keys of their own; what a row names (a maker by its code) is
looked up among the rows written before it. People come without passwords and switched off.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from django.db import connection, models
from django.utils import timezone

from inventory.models import CataloguePoint, DecisionRule, Delivery, Maker, Piece, Shop, Style, User
from inventory.services.bulk import insert_rows, moment, reserve_ids
from inventory.services.exporting.tables import BY_NAME, TABLES, Column, Table
from inventory.services.importing.exported import Row, Rows
from inventory.services.importing.refusals import FileNotReadable, ShopNotEmpty
from inventory.services.importing.verifying import verify_verdicts

if TYPE_CHECKING:
    from inventory.services.importing.report import Report

Key = tuple[Any, ...]  # Any: values of key columns
Keys = dict[str, dict[Key, int]]

_WRITTEN_OTHERWISE: Final = ("rules", "shop", "people", "catalogue")


def check_empty() -> None:
    """Raise `ShopNotEmpty` unless nothing was entered here yet."""
    for model, what in ((Maker, "makers"), (Style, "styles"), (Delivery, "deliveries"), (Piece, "pieces")):
        count = model._default_manager.count()  # noqa: SLF001  # Django's documented way to a model's manager
        if count:
            raise ShopNotEmpty(
                f"This shop has {count} {what} already; an export is restored into an empty shop only. "
                "Start a "
                "new one with a data folder of its own.",
                field="file",
            )


def check_export(tables: Mapping[str, Rows], report: Report) -> None:
    """Say what an export holds and what it lacks."""
    for table in TABLES:
        if table.restored and table.name not in tables:
            report.error(
                0, table.name, f"Table {table.name} is missing. Was the export edited? Write a new one."
            )
    report.counts |= {f"{name.replace('_', ' ')}": len(rows) for name, rows in tables.items()}
    names = [name for name, rows in tables.items() if rows]
    report.preview = {
        "columns": ["Table", "Rows"],
        "rows": [[name.replace("_", " "), str(len(tables[name]))] for name in names],
        "lengths_from": 2,
    }


def restore(tables: Mapping[str, Rows]) -> dict[str, Any]:  # Any: what JSON can hold
    """Write every row, inside the transaction that closes the run.

    Raises `ShopNotEmpty`, and `FileNotReadable` for rows that contradict one another.
    """
    check_empty()
    keys: Keys = {"people": _people(tables["people"]), "rules": _rules(tables["rules"])}
    _shop(tables["shop"], keys)
    CataloguePoint.objects.all().delete()
    _write(BY_NAME["catalogue"], tables["catalogue"], keys)
    for table in TABLES:
        if table.restored and table.name not in _WRITTEN_OTHERWISE:
            _write(table, tables[table.name], keys)
    same, other = verify_verdicts()
    return {
        "rows": {name.replace("_", " "): len(rows) for name, rows in tables.items()},
        "verdicts_same": same,
        "verdicts_other": len(other),
        "verdicts_other_named": other[:20],
    }


def _write(table: Table, rows: Rows, keys: Keys) -> None:
    """All rows of one table; afterwards `keys` knows them."""
    ids = reserve_ids(table.model, len(rows))
    known = keys[table.name] = {}
    for number, row in zip(ids, rows, strict=True):
        key = tuple(row[name] for name in table.key)
        if key in known:
            raise FileNotReadable(f"Table {table.name} has {_said(key)} twice. Was the export edited?")
        known[key] = number
    fields = [column for column in table.columns if _is_field(table.model, column.path)]
    names = ["id", *(column.path for column in fields), *(ref.field for ref in table.refs)]
    to_database = [_writer(table.model, column) for column in fields]

    def lines() -> Any:  # Any: rows of values, as the database takes them
        for number, row in zip(ids, rows, strict=True):
            values = [write(row[column.name]) for column, write in zip(fields, to_database, strict=True)]
            yield (number, *values, *(_id_of(ref.table, ref.columns, row, keys, table) for ref in table.refs))

    insert_rows(table.model, names, lines())


def _is_field(model: type[models.Model], name: str) -> bool:
    fields = model._meta.concrete_fields  # noqa: SLF001  # Django's documented way to a model's fields
    return any(field.name == name and not field.is_relation for field in fields)


def _writer(model: type[models.Model], column: Column) -> Callable[[Any], Any]:
    """How a value of a column goes into the database; a text that may not be nothing is empty instead."""
    field = model._meta.get_field(column.path)  # noqa: SLF001  # Django's documented way to a model's fields
    assert isinstance(field, models.Field)
    if column.kind == "moment":
        return moment
    if column.kind == "json":
        return lambda value: json.dumps(value, separators=(",", ":"))
    if column.kind == "text" and isinstance(field, models.UUIDField):
        return lambda value: field.get_db_prep_value(value or None, connection)
    if column.kind == "text" and not field.null:
        return lambda value: value or ""
    if column.kind in ("decimal", "day"):
        return lambda value: field.get_db_prep_save(value, connection)
    return lambda value: value


def _id_of(table: str, columns: tuple[str, ...], row: Row, keys: Keys, of: Table) -> int | None:
    key = tuple(row[name] for name in columns)
    if key[-1] is None or key[-1] == "":
        return None
    found = keys[table].get(key)
    if found is None:
        raise FileNotReadable(
            f"Table {of.name} names {_said(key)}, which table {table} does not have. Was the export edited?"
        )
    return found


def _said(key: Key) -> str:
    return " ".join(str(part) for part in key)


def _people(rows: Rows) -> dict[Key, int]:
    known = {}
    for row in rows:
        person = User.objects.filter(username=row["username"]).first()
        if person is None:
            person = User(date_joined=timezone.now(), **{**row, "is_active": False})
            person.set_unusable_password()
            person.save()
        known[(row["username"],)] = person.pk
    return known


def _rules(rows: Rows) -> dict[Key, int]:
    known = {}
    for row in rows:
        rule, created = DecisionRule.objects.get_or_create(
            code=row["code"], version=row["version"], defaults=dict(row)
        )
        if not created and any(getattr(rule, name) != value for name, value in row.items() if name != "name"):
            raise FileNotReadable(
                f"Rule {row['code']}, version {row['version']}, says something else here than in the "
                "export. Rules "
                "are never overwritten; restore into a shop that has just been set up."
            )
        known[row["code"], row["version"]] = rule.pk
    return known


def _shop(rows: Rows, keys: Keys) -> None:
    if len(rows) != 1:
        raise FileNotReadable(f"The export holds {len(rows)} shops; one is expected.")
    row = rows[0]
    shop = Shop.objects.get(pk=Shop.ONLY)
    for name, value in row.items():
        if _is_field(Shop, name):
            setattr(shop, name, value)
    shop.shelf_rule_id = keys["rules"][row["shelf_rule"], row["shelf_rule_version"]]
    shop.claim_rule_id = keys["rules"][row["claim_rule"], row["claim_rule_version"]]
    shop.save()
