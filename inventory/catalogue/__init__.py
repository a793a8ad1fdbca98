"""The point-of-measure catalogue: what can be measured on a garment, how, and how well.

Pure data, no Django: a shop copies these defaults into its own styles and changes them there.

>>> by_code("laced_underbust", "WA").name
'half waist'
>>> by_code("jacket", "CB").group, by_code("laced_overbust", "CB").group
('general', 'laced')
"""

from collections.abc import Mapping
from types import MappingProxyType

from inventory.catalogue.errors import CatalogueError, UnknownFamily, UnknownPoint
from inventory.catalogue.general import GENERAL_POINTS
from inventory.catalogue.laced import LACED_POINTS
from inventory.catalogue.points import COMMON_PRACTICE, GENERAL_TRADE, CataloguePoint, Family

__all__ = [
    "COMMON_PRACTICE",
    "FAMILIES",
    "GENERAL_TRADE",
    "POINTS",
    "CatalogueError",
    "CataloguePoint",
    "Family",
    "UnknownFamily",
    "UnknownPoint",
    "by_code",
    "core_points",
    "points_of",
]

_LAID_OPEN = (
    "Open it at front and back. Lay one half outside up, the top away from you, laces slack. Left and right "
    "are as worn."
)
_LAID_CLOSED = "Fasten it and lay it front face up, smoothed, not pulled. Left and right are as worn."

FAMILIES: Mapping[str, Family] = MappingProxyType(
    {
        family.code: family
        for family in (
            Family(code="laced_underbust", name="Laced, underbust", group="laced", laid=_LAID_OPEN),
            Family(code="laced_overbust", name="Laced, overbust", group="laced", laid=_LAID_OPEN),
            Family(code="bodice", name="Bodice", group="general", laid=_LAID_CLOSED),
            Family(code="waistcoat", name="Waistcoat", group="general", laid=_LAID_CLOSED),
            Family(code="jacket", name="Jacket", group="general", laid=_LAID_CLOSED),
        )
    }
)

POINTS: tuple[CataloguePoint, ...] = (*LACED_POINTS, *GENERAL_POINTS)

_BY_FAMILY: dict[str, dict[str, CataloguePoint]] = {
    family: {
        point.code: point
        for point in sorted(POINTS, key=lambda point: point.position)
        if family in point.families
    }
    for family in FAMILIES
}


def points_of(family: str) -> tuple[CataloguePoint, ...]:
    """All points of a family in the order of the tape; raises UnknownFamily."""
    return tuple(_points(family).values())


def core_points(family: str) -> tuple[CataloguePoint, ...]:
    """The points a new style of the family starts with, in the order of the tape; raises UnknownFamily.

    >>> [point.code for point in core_points("laced_underbust")]
    ['UB', 'WA', 'HH', 'LE', 'CF', 'PS', 'SS', 'CB']
    """
    return tuple(point for point in points_of(family) if family in point.core_in)


def by_code(family: str, code: str) -> CataloguePoint:
    """One point of a family; raises UnknownFamily or UnknownPoint.

    CF and CB mean different things on laced and on general garments, hence the family.
    """
    points = _points(family)
    try:
        return points[code]
    except KeyError:
        raise UnknownPoint(code, family, points) from None


def _points(family: str) -> Mapping[str, CataloguePoint]:
    try:
        return _BY_FAMILY[family]
    except KeyError:
        raise UnknownFamily(family, FAMILIES) from None
