"""What the catalogue proposes for a new spec, as one would type it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from inventory import catalogue
from inventory.calc.length import propose
from inventory.models import CataloguePoint
from inventory.services.spec_entries import PointEntry

if TYPE_CHECKING:
    from inventory.calc.length import Unit
    from inventory.models import Style


def entries_from_catalogue(style: Style, *, unit: Unit) -> dict[str, PointEntry]:
    """The catalogue's tolerances and left-right limits for the points of a style, as one would type them.

    In inches they are the round figures nearest to the catalogue's millimetres.
    """
    group = catalogue.FAMILIES[style.family].group
    defaults = {point.code: point for point in CataloguePoint.objects.filter(group=group)}
    found = {}
    for point in style.points.filter(is_active=True):
        default = defaults.get(point.code)
        if default is None:
            continue
        limit_nm = default.asymmetry_limit_nm if point.is_paired else None
        found[point.code] = PointEntry(
            basis=default.basis,
            minus=propose(default.tolerance_minus_nm, unit=unit),
            plus=propose(default.tolerance_plus_nm, unit=unit),
            pair_limit="" if limit_nm is None else propose(limit_nm, unit=unit),
        )
    return found


def with_defaults(entry: PointEntry, default: PointEntry) -> PointEntry:
    """The entry, with what it leaves empty of basis, tolerance and limit taken from the default."""
    return replace(
        entry,
        basis=entry.basis or default.basis,
        minus=entry.minus if entry.minus.strip() else default.minus,
        plus=entry.plus if entry.plus.strip() else default.plus,
        pair_limit=entry.pair_limit if entry.pair_limit.strip() else default.pair_limit,
    )
