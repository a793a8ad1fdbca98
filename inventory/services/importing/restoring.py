"""A whole export into an empty shop: all rows as they were, and every current verdict worked out again.

Rows are written past the object mapper. Where the file holds the database's own numbers they are kept;
elsewhere rows get new ones. What a row names (a maker by its code) is looked up among the rows written before
it. People come without passwords, so none of them can sign in until the owner gives them one; whoever
restores keeps role and password. The audit trail is added behind what this shop noted so far.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from django.db import DatabaseError, transaction
from django.db.models import Exists, OuterRef, Subquery

from inventory.models import (
    CataloguePoint,
    DefectKind,
    Delivery,
    Instrument,
    Maker,
    MeasurePoint,
    Piece,
    PointError,
    SamplingScheme,
    Style,
)
from inventory.services.bulk import reserve_ids
from inventory.services.exporting.columns import Table
from inventory.services.exporting.tables import BY_NAME, TABLES
from inventory.services.importing.refusals import FileNotReadable, ShopNotEmpty
from inventory.services.importing.restored_rows import Rows
from inventory.services.importing.restored_settings import write_people, write_rules, write_shop
from inventory.services.importing.restored_tables import Keys, insert_table, write_table
from inventory.services.importing.verifying import verify_verdicts

if TYPE_CHECKING:
    from inventory.services.importing.report import Report

Said = Callable[[str], None]

_WRITTEN_OTHERWISE: Final = ("rules", "shop", "people", "catalogue", "defect_kinds", "audit")
_NO_ROW: Final = 0
"""The subject of an audit row about something that is not in the file."""


_FIRST_ROWS: Final[tuple[tuple[str, type[CataloguePoint | DefectKind]], ...]] = (
    ("catalogue", CataloguePoint),
    ("defect_kinds", DefectKind),
)
"""Defaults that every shop has from its first day: those of the export take their place."""

_ENTERED: Final = (
    (Maker, "makers"),
    (Style, "styles"),
    (Instrument, "tapes"),
    (Delivery, "deliveries"),
    (Piece, "pieces"),
    (SamplingScheme, "agreements on sampling"),
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
    keys: Keys = {"people": write_people(tables["people"]), "rules": write_rules(tables["rules"])}
    keys["shop"] = write_shop(tables["shop"], keys)
    for name, defaults in _FIRST_ROWS:
        defaults.objects.all().delete()
        write_table(BY_NAME[name], tables[name], keys)
    for table in TABLES:
        if table.name not in _WRITTEN_OTHERWISE:
            said(table.name.replace("_", " "))
            write_table(table, tables[table.name], keys)
    _let_the_newest_error_hold()
    said("the audit trail")
    _write_audit(BY_NAME["audit"], tables["audit"], keys)


def _let_the_newest_error_hold() -> None:
    """What is known of a point's error is its newest row; a point without one keeps its planning values."""
    newest = PointError.objects.filter(point=OuterRef("pk")).order_by("-pk").values("pk")[:1]
    MeasurePoint.objects.filter(Exists(newest)).update(known_error=Subquery(newest))


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
    insert_table(table, subjects, list(reserve_ids(table.model, len(rows))), keys)
