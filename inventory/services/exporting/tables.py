"""The tables of an export, in the order in which they can be read back.

Rows name one another by what people see (a maker's code, a piece's number), never by database keys, so an
export means the same in any installation.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

from django.db import models

from inventory.models import (
    AuditRow,
    Batch,
    CataloguePoint,
    DecisionRule,
    Defect,
    Delivery,
    Disposition,
    Inspection,
    Instrument,
    JudgementBasis,
    Maker,
    MeasurePoint,
    Photo,
    Piece,
    PieceVerdict,
    Reading,
    Shop,
    SlipQuestion,
    Spec,
    SpecCell,
    SpecPoint,
    SpecSize,
    Style,
    UnreadSide,
    User,
)

Kind = Literal["text", "number", "length", "decimal", "yes", "day", "moment", "json", "key"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name in the file, where the value comes from, and what it is."""

    name: str
    path: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class Ref:
    """A field that names a row of another table, by the columns that hold that row's key."""

    field: str
    table: str
    columns: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its rows in a fixed order, what names a row, and which fields name rows of other tables."""

    name: str
    model: type[models.Model]
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    refs: tuple[Ref, ...] = ()
    order: tuple[str, ...] = ("pk",)
    restored: bool = True

    def rows(self) -> Iterator[Sequence[Any]]:  # Any: values of every kind of column
        """All rows, fetched a few thousand at a time."""
        manager = self.model._default_manager  # noqa: SLF001  # Django's documented way to a model's manager
        return manager.order_by(*self.order).values_list(*(c.path for c in self.columns)).iterator(2_000)


_KINDS: Final[dict[type[models.Field[Any, Any]], Kind]] = {
    models.JSONField: "json",
    models.DateTimeField: "moment",
    models.DateField: "day",
    models.BooleanField: "yes",
    models.DecimalField: "decimal",
    models.UUIDField: "text",
    models.IntegerField: "number",
}


_NUMBERS: Final = frozenset(
    {"revision", "delivery", "batch", "piece", "inspection", "reading", "corrects", "defect"}
    | {"shelf_rule_version", "claim_rule_version"}
)
"""Names of rows of other tables that are numbers; all others are words."""


def _kind(field: models.Field[Any, Any]) -> Kind:
    if field.name.endswith("_nm"):
        return "length"
    return next((kind for cls, kind in _KINDS.items() if isinstance(field, cls)), "text")


def _table(
    name: str,
    model: type[models.Model],
    *,
    key: Sequence[str],
    refs: Sequence[tuple[str, str, Sequence[tuple[str, str]]]] = (),
    skip: Sequence[str] = (),
    order: Sequence[str] = ("pk",),
    own_key: str = "",
    restored: bool = True,
) -> Table:
    """A table of all fields of a model. `refs`: field, table, (column name, path) of the other row's key."""
    by_field = {field: (table, columns) for field, table, columns in refs}
    columns: list[Column] = [Column(own_key, "pk", "key")] if own_key else []
    links = []
    for field in model._meta.concrete_fields:  # noqa: SLF001  # Django's documented way to a model's fields
        if field.primary_key or field.name in skip:
            continue
        if field.name in by_field:
            table, named = by_field[field.name]
            known = {column.name for column in columns}
            columns += [
                Column(one, path, "number" if one in _NUMBERS else "text")
                for one, path in named
                if one not in known
            ]
            links.append(Ref(field.name, table, tuple(one for one, _ in named)))
        else:
            shown = field.name.removesuffix("_nm") + "_mm" if field.name.endswith("_nm") else field.name
            columns.append(Column(shown, field.name, _kind(field)))
    return Table(name, model, tuple(columns), tuple(key), tuple(links), tuple(order), restored)


def _person(field: str) -> tuple[str, str, tuple[tuple[str, str], ...]]:
    return field, "people", ((field, f"{field}__username"),)


def _rule(field: str) -> tuple[str, str, tuple[tuple[str, str], ...]]:
    return field, "rules", ((field, f"{field}__code"), (f"{field}_version", f"{field}__version"))


def _style(path: str = "style") -> tuple[str, str, tuple[tuple[str, str], ...]]:
    return path, "styles", (("style", f"{path}__code"),)


def _spec(path: str = "spec") -> tuple[str, str, tuple[tuple[str, str], ...]]:
    return path, "specs", (("style", f"{path}__style__code"), ("revision", f"{path}__revision"))


_SITTING = ("inspection", "inspections", (("inspection", "inspection"),))
_PIECE = ("piece", "pieces", (("piece", "piece__number"),))

TABLES: Final = (
    _table("rules", DecisionRule, key=("code", "version")),
    _table("shop", Shop, key=("name",), refs=[_rule("shelf_rule"), _rule("claim_rule")]),
    _table(
        "people",
        User,
        key=("username",),
        skip=("password", "last_login", "is_superuser", "is_staff", "date_joined"),
    ),
    _table("catalogue", CataloguePoint, key=("group", "code")),
    _table("makers", Maker, key=("code",)),
    _table("styles", Style, key=("code",)),
    _table("points", MeasurePoint, key=("style", "code"), refs=[_style()]),
    _table("instruments", Instrument, key=("number",)),
    _table("specs", Spec, key=("style", "revision"), refs=[_style(), _person("author")]),
    _table("spec_sizes", SpecSize, key=("style", "revision", "label"), refs=[_spec()]),
    _table(
        "spec_points",
        SpecPoint,
        key=("style", "revision", "point"),
        refs=[_spec(), ("point", "points", (("style", "spec__style__code"), ("point", "point__code")))],
    ),
    _table(
        "spec_figures",
        SpecCell,
        key=("style", "revision", "point", "size"),
        refs=[
            (
                "spec_point",
                "spec_points",
                (
                    ("style", "spec_point__spec__style__code"),
                    ("revision", "spec_point__spec__revision"),
                    ("point", "spec_point__point__code"),
                ),
            ),
            (
                "size",
                "spec_sizes",
                (
                    ("style", "spec_point__spec__style__code"),
                    ("revision", "spec_point__spec__revision"),
                    ("size", "size__label"),
                ),
            ),
        ],
    ),
    _table(
        "deliveries",
        Delivery,
        key=("number",),
        refs=[("maker", "makers", (("maker", "maker__code"),)), _person("received_by")],
    ),
    _table(
        "batches",
        Batch,
        key=("number",),
        refs=[
            ("delivery", "deliveries", (("delivery", "delivery__number"),)),
            _style(),
            ("spec", "specs", (("style", "style__code"), ("revision", "spec__revision"))),
        ],
    ),
    _table("pieces", Piece, key=("number",), refs=[("batch", "batches", (("batch", "batch__number"),))]),
    _table(
        "inspections",
        Inspection,
        key=("inspection",),
        own_key="inspection",
        skip=("import_run",),
        refs=[
            _PIECE,
            ("instrument", "instruments", (("instrument", "instrument__number"),)),
            _person("opened_by"),
        ],
    ),
    _table(
        "readings",
        Reading,
        key=("reading",),
        own_key="reading",
        refs=[
            _SITTING,
            (
                "point",
                "points",
                (("style", "inspection__piece__batch__style__code"), ("point", "point__code")),
            ),
            ("instrument", "instruments", (("instrument", "instrument__number"),)),
            _person("taken_by"),
            ("corrects", "readings", (("corrects", "corrects"),)),
        ],
    ),
    _table(
        "unread_sides",
        UnreadSide,
        key=("inspection", "point", "side"),
        refs=[
            _SITTING,
            (
                "point",
                "points",
                (("style", "inspection__piece__batch__style__code"), ("point", "point__code")),
            ),
            _person("noted_by"),
        ],
    ),
    _table(
        "slip_questions",
        SlipQuestion,
        key=("question_number",),
        own_key="question_number",
        refs=[("reading", "readings", (("reading", "reading"),)), _person("answered_by")],
    ),
    _table("judgement_bases", JudgementBasis, key=("digest",), refs=[_spec()]),
    _table(
        "verdicts",
        PieceVerdict,
        key=("verdict",),
        own_key="verdict",
        refs=[
            _PIECE,
            _SITTING,
            ("basis", "judgement_bases", (("basis", "basis__digest"),)),
            _person("judged_by"),
        ],
    ),
    _table(
        "dispositions",
        Disposition,
        key=("disposition",),
        own_key="disposition",
        refs=[_PIECE, _person("decided_by")],
    ),
    _table(
        "defects",
        Defect,
        key=("defect",),
        own_key="defect",
        refs=[("batch", "batches", (("batch", "batch__number"),)), _PIECE, _person("seen_by")],
    ),
    # For reading only: the photos themselves stay on the server, and a new shop begins its own audit.
    _table(
        "photos",
        Photo,
        key=("photo",),
        own_key="photo",
        refs=[("defect", "defects", (("defect", "defect"),)), _person("added_by")],
        restored=False,
    ),
    _table("audit", AuditRow, key=("row",), own_key="row", refs=[_person("who")], restored=False),
)

BY_NAME: Final = {table.name: table for table in TABLES}
