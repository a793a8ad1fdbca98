"""Columns of readings whose name fits several points: settled by the style, or said to be open.

In a shop of many styles two points may go by the same words. Which is meant is told by the style the file is
about: the batch its pieces are added to, the styles its own column names, or the one chosen for the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from django.db.models import Q

from inventory.models import Batch, Style
from inventory.queries.destinations import destination
from inventory.services.importing.books import known_points
from inventory.services.importing.cells import text_of
from inventory.services.importing.roles import PointGuesser

if TYPE_CHECKING:
    from inventory.services.importing.files import Table
    from inventory.services.importing.mapping import TableMapping, Target

_MOST_STYLES: Final = 50
"""A column that names more is no column of styles."""


def open_columns(
    labels: Sequence[str], mapping: TableMapping, styles: Sequence[Style]
) -> dict[int, list[str]]:
    """By its place, the codes that a column left out could hold readings of, where there are several.

    With no style known the points of all active styles are looked through.
    """
    if mapping.layout != "wide":
        return {}
    guesser = PointGuesser(known_points(styles or None))
    could_be = {
        place: guesser.could_be(label)
        for place, (label, column) in enumerate(zip(labels, mapping.columns, strict=False))
        if not column.role
    }
    return {place: sorted(codes) for place, codes in could_be.items() if len(codes) > 1}


def settled(mapping: TableMapping, labels: Sequence[str], styles: Sequence[Style]) -> TableMapping:
    """The choices, with each open column as the points of these styles have it, where they leave one."""
    found = open_columns(labels, mapping, [])
    if not styles or not found:
        return mapping
    guesser = PointGuesser(known_points(styles))
    columns = list(mapping.columns)
    for place in found:
        columns[place] = replace(columns[place], role=guesser.role(labels[place]))
    return replace(mapping, columns=tuple(columns))


def styles_meant(
    target: Target, *, table: Table | None = None, mapping: TableMapping | None = None
) -> list[Style]:
    """The styles a file is about as far as that is known: of its batch, of its style column, as chosen."""
    there = destination(target.into) if target.into else None
    if isinstance(there, Batch):
        return [there.style]
    names = _named(table, mapping) if table is not None and mapping is not None else set()
    names |= {target.style} - {""}
    if not names or len(names) > _MOST_STYLES:
        return []
    wanted = Q()
    for name in names:
        wanted |= Q(code__iexact=name) | Q(name__iexact=name)
    return list(Style.objects.filter(wanted))


def _named(table: Table, mapping: TableMapping) -> set[str]:
    place = mapping.place_of("style")
    if place is None:
        return set()
    body = table.rows[mapping.first_data_row :]
    return {text_of(row[place]) for row in body if place < len(row)} - {""}
