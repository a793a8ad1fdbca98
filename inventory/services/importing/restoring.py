"""A whole export into an empty shop: all rows as they were, and every current verdict worked out again.

Rows are written past the object mapper. Where the file holds the database's own numbers they are kept;
elsewhere rows get new ones. What a row names (a maker by its code) is looked up among the rows written before
it. People come without passwords, so none of them can sign in until the owner gives them one; whoever
restores keeps role and password. The audit trail is added behind what this shop noted so far.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from operator import itemgetter
from typing import TYPE_CHECKING, Any, Final

from django.db import DatabaseError, connection, models, transaction
from django.utils import timezone

from inventory.models import (
    CataloguePoint,
    DecisionRule,
    Delivery,
    Instrument,
    Maker,
    Piece,
    Shop,
    Style,
    User,
)
from inventory.services.bulk import insert_rows, moment, pass_ids, reserve_ids
from inventory.services.exporting.columns import Column, Ref, Table
from inventory.services.exporting.tables import BY_NAME, TABLES
from inventory.services.importing.refusals import FileNotReadable, ShopNotEmpty
from inventory.services.importing.restored_rows import Rows
from inventory.services.importing.verifying import verify_verdicts

if TYPE_CHECKING:
    from inventory.services.importing.report import Report

Key = tuple[Any, ...]  # Any: values of key columns
Keys = dict[str, dict[Key, int]]
Said = Callable[[str], None]

_WRITTEN_OTHERWISE: Final = ("rules", "shop", "people", "catalogue", "audit")
_NO_ROW: Final = 0
"""The subject of an audit row about something that is not in the file."""


_ENTERED: Final = (
    (Maker, "makers"),
    (Style, "styles"),
    (Instrument, "tapes"),
    (Delivery, "deliveries"),
    (Piece, "pieces"),
)


def check_empty() -> None:
    """Raise `ShopNotEmpty` unless nothing was entered here yet."""
    for model, what in _ENTERED:
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
        if table.name not in tables:
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


def restore(tables: Mapping[str, Rows], pictures: Mapping[str, str], *, said: Said) -> dict[str, Any]:
    """Write every row, inside the transaction that closes the run; return counts (Any: what JSON can hold).

    `pictures`: where the original of each photo lies by now, by its name in the file; a photo without one is
    left out. `said` hears which table comes next. Raises `ShopNotEmpty`, and `FileNotReadable` for rows that
    contradict one another.
    """
    check_empty()
    photos = tables["photos"]
    with_picture = _with_pictures(photos, pictures)
    try:
        with transaction.atomic():
            _write_all({**tables, "photos": with_picture}, said=said)
    except DatabaseError as problem:
        raise FileNotReadable(
            f"The rows of the export contradict one another ({str(problem).splitlines()[0]}). Was it edited? "
            "Write a new one."
        ) from problem
    said("working verdicts out again")
    same, other = verify_verdicts()
    return {
        "rows": {name.replace("_", " "): len(rows) for name, rows in tables.items()},
        "verdicts_same": same,
        "verdicts_other": len(other),
        "verdicts_other_named": other[:20],
        "photos_without_picture": len(photos) - len(with_picture),
    }


def _with_pictures(photos: Rows, pictures: Mapping[str, str]) -> Rows:
    (place,) = photos.places(["original"])
    return Rows(
        photos.names,
        (
            (*line[:place], pictures[line[place]], *line[place + 1 :])
            for line in photos.lines
            if line[place] in pictures
        ),
    )


def _write_all(tables: Mapping[str, Rows], *, said: Said) -> None:
    said("people, rules and the shop")
    keys: Keys = {"people": _people(tables["people"]), "rules": _rules(tables["rules"])}
    keys["shop"] = _shop(tables["shop"], keys)
    CataloguePoint.objects.all().delete()
    _write(BY_NAME["catalogue"], tables["catalogue"], keys)
    for table in TABLES:
        if table.name not in _WRITTEN_OTHERWISE:
            said(table.name.replace("_", " "))
            _write(table, tables[table.name], keys)
    said("the audit trail")
    _write_audit(BY_NAME["audit"], tables["audit"], keys)


def _write(table: Table, rows: Rows, keys: Keys) -> None:
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
            raise FileNotReadable(f"Table {table.name} has {_said(key)} twice. Was the export edited?")
        known[key] = number
    _insert(table, rows, ids, keys)
    if table.keeps_id:
        pass_ids(table.model)


def _insert(table: Table, rows: Rows, ids: list[int], keys: Keys) -> None:
    fields = [column for column in table.columns if _is_field(table.model, column.path)]
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


def _write_audit(table: Table, rows: Rows, keys: Keys) -> None:
    """The audit trail, its subjects found again by their names."""
    of_type = {one.model.__name__.lower(): one.name for one in TABLES}
    type_place, subject_place = rows.places(["subject_type", "subject"])

    def found(line: tuple[Any, ...]) -> int:
        key = None if line[subject_place] is None else json.loads(line[subject_place])
        known = keys.get(of_type.get(line[type_place], ""), {})
        try:
            return known.get(tuple(key), _NO_ROW) if isinstance(key, list) else _NO_ROW
        except TypeError as problem:  # a list inside the name
            raise FileNotReadable(
                f"The audit trail names {str(key)[:60]}. Was the export edited?"
            ) from problem

    subjects = Rows(
        rows.names,
        ((*line[:subject_place], found(line), *line[subject_place + 1 :]) for line in rows.lines),
    )
    _insert(table, subjects, list(reserve_ids(table.model, len(rows))), keys)


def _is_field(model: type[models.Model], name: str) -> bool:
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
                f"Table {of.name} names {_said(key_of(line))}, which table {ref.table} does not have. Was "
                "the export edited?"
            )
        return found

    return find


def _said(key: Key) -> str:
    return " ".join(str(part) for part in key)


def _people(rows: Rows) -> dict[Key, int]:
    """Everybody of the export; who has the same user name here stays as they are, but for empty names."""
    known: dict[Key, int] = {}
    for row in rows:
        person = User.objects.filter(username=row["username"]).first()
        if person is None:
            person = User(date_joined=timezone.now(), **row)
            person.set_unusable_password()
        else:
            for name in ("first_name", "last_name", "email"):
                setattr(person, name, getattr(person, name) or row[name])
        person.save()
        known[(row["username"],)] = person.pk
    return known


def _rules(rows: Rows) -> dict[Key, int]:
    known = {}
    for row in rows:
        rule, created = DecisionRule.objects.get_or_create(
            code=row["code"], version=row["version"], defaults=row
        )
        if not created and any(getattr(rule, name) != value for name, value in row.items() if name != "name"):
            raise FileNotReadable(
                f"Rule {row['code']}, version {row['version']}, says something else here than in the "
                "export. Rules "
                "are never overwritten; restore into a shop that has just been set up."
            )
        known[row["code"], row["version"]] = rule.pk
    return known


def _shop(rows: Rows, keys: Keys) -> dict[Key, int]:
    if len(rows) != 1:
        raise FileNotReadable(f"The export holds {len(rows)} shops; one is expected.")
    (row,) = rows
    shop = Shop.objects.get(pk=Shop.ONLY)
    for name, value in row.items():
        if _is_field(Shop, name):
            setattr(shop, name, value)
    for name in ("shelf_rule", "claim_rule"):
        key = (row[name], row[f"{name}_version"])
        if key not in keys["rules"]:
            raise FileNotReadable(f"The shop judges by rule {_said(key)}, which the export does not hold.")
        setattr(shop, f"{name}_id", keys["rules"][key])
    shop.save()
    return {(shop.name,): shop.pk}
