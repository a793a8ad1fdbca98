"""The first look into an uploaded file: what kind it is, and how it is proposed to be read."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from inventory.calc.length import Unit
from inventory.models import ImportRun, Shop
from inventory.services.importing.above import said_above
from inventory.services.importing.books import known_points
from inventory.services.importing.files import Table, read_table
from inventory.services.importing.guessing import propose
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.importing.open_columns import settled, styles_meant
from inventory.services.importing.refusals import IsWholeExport
from inventory.services.importing.sheets import named_columns
from inventory.services.importing.taking_over import choices_before
from inventory.services.importing.whole_told import is_whole_export

if TYPE_CHECKING:
    from inventory.models import User

Json = dict[str, Any]  # Any: what JSON can hold


def read_first(content: bytes, kind: str, *, by: User, as_before: bool) -> tuple[Table, TableMapping, Json]:
    """The table, how it is to be read, and the report that names its columns and the choices' origin."""
    if is_whole_export(content):
        raise IsWholeExport(
            "This is a whole export of this program, not a table to choose columns of. Restore it into an "
            "empty shop, under Import and export, A whole export.",
            field="file",
        )
    table = read_table(content, head_of_big=True)
    mapping = propose_reading(table, kind)
    taken = None
    if as_before:
        taken = choices_before(
            table,
            mapping,
            read=lambda sheet: read_table(content, sheet=sheet, head_of_big=True),
            kind=kind,
            by=by,
        )
    if taken is not None:
        said = said_above(taken.table, taken.mapping, kind=kind)
        table, mapping = taken.table, replace(taken.mapping, target=replace(taken.mapping.target, **said))
    report: Json = {"labels": named_columns(table, mapping)}
    return table, mapping, report if taken is None else {**report, "taken_over": taken.run.pk}


def propose_reading(
    table: Table,
    kind: str,
    *,
    target: Target | None = None,
    header_row: int | None = None,
    header_rows: int = 1,
) -> TableMapping:
    """How the table looks; with no target, the one that lines above the header name.

    A column that several points of the shop could be is read as the styles of the file have it.
    """
    mapping = propose(
        table,
        kind=kind,
        points=known_points(),
        unit=Unit(Shop.objects.current().display_unit),
        target=target or Target(),
        header=None if header_row is None else (header_row - 1, header_rows),
    )
    if target is None:
        mapping = replace(mapping, target=Target(**said_above(table, mapping, kind=kind)))
    if kind != ImportRun.Kind.PIECES:
        return mapping
    styles = styles_meant(mapping.target, table=table, mapping=mapping)
    return settled(mapping, named_columns(table, mapping), styles)
