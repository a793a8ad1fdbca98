"""What a point's own statements add to every reading alike: finding its level, and the state of the cloth.

A level that is missed by 3 mm matters as much as the girth changes over 3 mm of height; how much that is,
the girths above and below say, as the spec has them in the same size (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc import budget
from inventory.models.points import Kind

if TYPE_CHECKING:
    from inventory.calc.budget import Component
    from inventory.models import MeasurePoint

GIRTHS = (Kind.HALF, Kind.FULL)


@dataclass(frozen=True, slots=True)
class Girth:
    """A point with what the spec asks of it in one size, as read (nm)."""

    point: MeasurePoint
    nominal_nm: int


def level_part(here: Girth, others: Iterable[Girth]) -> Component | None:
    """The level's part of a reading; None where it is not stated or no neighbouring girth has a height."""
    point = here.point
    if point.kind not in GIRTHS or point.height_nm is None or not point.height_u_nm:
        return None
    found = _neighbours(here, others)
    if not found:
        return None
    codes = " and ".join(other.point.code for other in found)
    return budget.level(
        here.nominal_nm,
        [(_as_read_at(point, other), abs(_height(other) - point.height_nm)) for other in found],
        u_height_nm=point.height_u_nm,
        source=f"height as stated, change of girth towards {codes}",
    )


def state_part(point: MeasurePoint) -> Component | None:
    """The part of the cloth's state; None where it is not stated."""
    return None if not point.state_u_nm else budget.state(point.state_u_nm, source="stated by the shop")


def fixed_u_nm(here: Girth, others: Iterable[Girth]) -> float:
    """Both together (nm): what is in every reading of everybody, beside the tape itself."""
    parts = (level_part(here, others), state_part(here.point))
    return math.hypot(*(part.u_nm for part in parts if part is not None))


def _neighbours(here: Girth, others: Iterable[Girth]) -> list[Girth]:
    """The nearest girth above and the nearest below, of those whose height is stated."""
    level_nm = _height(here)
    placed = [
        other
        for other in others
        if other.point.kind in GIRTHS and other.point.height_nm not in (None, level_nm)
    ]
    above = [other for other in placed if _height(other) > level_nm]
    below = [other for other in placed if _height(other) < level_nm]
    return [min(side, key=lambda other: abs(_height(other) - level_nm)) for side in (above, below) if side]


def _height(girth: Girth) -> int:
    return girth.point.height_nm or 0


def _as_read_at(point: MeasurePoint, other: Girth) -> int:
    """The other girth as it would be read here: a full one halved for a half, a half one doubled."""
    if other.point.kind == point.kind:
        return other.nominal_nm
    return other.nominal_nm // 2 if point.kind == Kind.HALF else 2 * other.nominal_nm
