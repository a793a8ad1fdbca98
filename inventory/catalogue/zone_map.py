"""A piece in outline, front, back and inside, with one of the three zones marked: what lies where.

Drawn for the eye only: laced pieces have a front that opens and a lacing at the back, the others a front that
closes. Zone A is seen when worn, B off the body, C is hidden inside; see `inventory.catalogue.defects`.
"""

from collections.abc import Mapping
from types import MappingProxyType

from inventory.catalogue.errors import UnknownFamily

_WAISTED = "M6 6 L34 6 Q30 24 28 30 Q30 36 36 54 L4 54 Q10 36 12 30 Q10 24 6 6 Z"
_OVER_BUST = "M5 4 Q12 0 20 8 Q28 0 35 4 Q30 24 28 32 Q30 38 36 56 L4 56 Q10 38 12 32 Q10 24 5 4 Z"
_BODICE = "M10 4 L16 4 Q20 12 24 4 L30 4 L36 14 Q30 30 30 38 L34 56 L6 56 L10 38 Q10 30 4 14 Z"
_SLEEVED = "M12 4 L28 4 L38 14 L38 46 L33 46 L32 20 Q29 32 33 56 L7 56 Q11 32 8 20 L7 46 L2 46 L2 14 Z"
_OUTLINES: Mapping[str, str] = MappingProxyType(
    {
        "laced_underbust": _WAISTED,
        "laced_overbust": _OVER_BUST,
        "bodice": _BODICE,
        "waistcoat": _BODICE,
        "jacket": _SLEEVED,
    }
)
_LACED = frozenset({"laced_underbust", "laced_overbust"})

WIDTH, HEIGHT = 144, 76
_PANELS = (("front", 2), ("back", 52), ("inside", 102))


def drawing(family: str, zone: str) -> str:
    """The outlines as SVG with a zone marked; hidden from whoever listens, as the words beside it say it all.

    Raises `UnknownFamily`.
    """
    try:
        outline = _OUTLINES[family]
    except KeyError:
        raise UnknownFamily(family, _OUTLINES) from None
    parts = "".join(
        f'<g transform="translate({left} 2)">{_panel(name, outline, zone, laced=family in _LACED)}'
        f'<text class="zone-name" x="20" y="70" text-anchor="middle">{name}</text></g>'
        for name, left in _PANELS
    )
    return (
        f'<svg class="zone-map" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'aria-hidden="true" focusable="false">{parts}</svg>'
    )


def _panel(name: str, outline: str, zone: str, *, laced: bool) -> str:
    """One view: the whole of it is marked, or only the strips beside its opening."""
    whole = zone == ("C" if name == "inside" else "A")
    strips = zone == "B" and (name == "inside" or (laced and name == "back"))
    shape = f'<path class="zone-shape{" zone-here" if whole else ""}" d="{outline}"/>'
    opening = '<path class="zone-line" d="M20 8 L20 55"/>'
    if strips:
        shape += '<rect class="zone-here" x="16" y="9" width="8" height="45"/>'
    return shape + opening
