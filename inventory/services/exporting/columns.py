"""What a table of an export is made of: its columns, the rows it names, and how it is built from a model."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from django.db import models

Kind = Literal["text", "number", "length", "decimal", "float", "yes", "day", "moment", "json", "key"]
Line = Sequence[Any]  # Any: values of every kind of column
Translate = Callable[[Iterable[Line]], Iterator[Line]]


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
    """One table: its rows in a fixed order, what names a row, and which fields name rows of other tables.

    `only` says which rows are written; `translate` turns what the database holds into what a file can say;
    `blank` are fields that are not written and empty when restored.
    """

    name: str
    model: type[models.Model]
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    refs: tuple[Ref, ...] = ()
    order: tuple[str, ...] = ("pk",)
    only: Mapping[str, Any] = field(default_factory=dict)
    translate: Translate | None = None
    blank: tuple[str, ...] = ()

    def rows(self) -> Iterator[Line]:
        """All rows, fetched a few thousand at a time."""
        manager = self.model._default_manager  # noqa: SLF001  # Django's documented way to a model's manager
        found = manager.filter(**self.only).order_by(*self.order)
        lines = found.values_list(*(column.path for column in self.columns)).iterator(2_000)
        return lines if self.translate is None else self.translate(lines)

    @property
    def paths_of_key(self) -> tuple[str, ...]:
        """Where the values that name a row come from."""
        of_name = {column.name: column.path for column in self.columns}
        return tuple(of_name[name] for name in self.key)

    @property
    def keeps_id(self) -> bool:
        """Whether the file holds the database's own number of each row."""
        return any(column.kind == "key" and column.path == "pk" for column in self.columns)


_KINDS: Final[dict[type[models.Field[Any, Any]], Kind]] = {
    models.JSONField: "json",
    models.DateTimeField: "moment",
    models.DateField: "day",
    models.BooleanField: "yes",
    models.DecimalField: "decimal",
    models.FloatField: "float",
    models.UUIDField: "text",
    models.IntegerField: "number",
}

_NUMBERS: Final = frozenset(
    {"revision", "delivery", "batch", "piece", "inspection", "reading", "corrects", "defect"}
    | {"shelf_rule_version", "claim_rule_version", "tape_check", "sitting", "study", "turn", "scheme"}
)
"""Names of rows of other tables that are numbers; all others are words."""

RefSpec = tuple[str, str, Sequence[tuple[str, str]]]
"""A field, the table of the rows it names, and the (column name, path) pairs of such a row's key."""


def table_of(
    name: str,
    model: type[models.Model],
    *,
    key: Sequence[str],
    refs: Sequence[RefSpec] = (),
    skip: Sequence[str] = (),
    order: Sequence[str] = ("pk",),
    own_key: str = "",
    only: Mapping[str, Any] | None = None,
    names: Mapping[str, str] | None = None,
    translate: Translate | None = None,
    blank: Sequence[str] = (),
) -> Table:
    """A table of all fields of a model but those of `skip`. `own_key` names the column of its own number, and
    `names` columns that are called otherwise than their fields.
    """
    by_field = {field: (table, columns) for field, table, columns in refs}
    columns: list[Column] = [Column(own_key, "pk", "key")] if own_key else []
    links = []
    for one in model._meta.concrete_fields:  # noqa: SLF001  # Django's documented way to a model's fields
        if one.primary_key or one.name in skip or one.name in blank:
            continue
        if one.name in by_field:
            table, named = by_field[one.name]
            known = {column.name for column in columns}
            columns += [
                Column(column, path, "number" if column in _NUMBERS else "text")
                for column, path in named
                if column not in known
            ]
            links.append(Ref(one.name, table, tuple(column for column, _ in named)))
        else:
            shown = one.name.removesuffix("_nm") + "_mm" if one.name.endswith("_nm") else one.name
            columns.append(Column((names or {}).get(one.name, shown), one.name, _kind(one)))
    return Table(
        name,
        model,
        tuple(columns),
        tuple(key),
        tuple(links),
        tuple(order),
        only=only or {},
        translate=translate,
        blank=tuple(blank),
    )


def _kind(one: models.Field[Any, Any]) -> Kind:
    if one.name.endswith("_nm"):
        return "length"
    return next((kind for cls, kind in _KINDS.items() if isinstance(one, cls)), "text")
