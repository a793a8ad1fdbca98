"""The drawing of a family of garments with the wanted points of measure on it, one of them marked.

The art is one SVG file per family, drawn for the wearer's left side. It may be shown inline on a page or in
a PDF whose renderer knows no stylesheet of the page, so the mark on the active point is set in attributes:
a thicker line and a filled label, which also survive a black-and-white printer. A stylesheet may recolour
``.pom.is-active`` and must then give ``.pom-code`` in it the colour of the ground.

How the files are built (keep to it when a point is added):

- ``<g class="pom" data-point="WA">`` holds one point: ``pom-aid`` (helping lines), ``pom-line``,
  ``pom-ends``, ``pom-arrows`` and an ``upright`` group with ``pom-box`` and ``pom-code``. The line leaves a
  gap for the label, so nothing has to be painted over.
- every text stands in a ``<g class="upright" transform="translate(x y)">`` and is centred on that place, so
  it stays readable when the art is mirrored for the right side.
- ``data-side="L"`` or ``"R"`` marks what belongs to one side only; ``class="fixed"`` what is never mirrored;
  ``data-needs="CB XB"`` what is shown only with one of those points.
"""

from collections.abc import Collection
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from xml.etree import ElementTree as ET

from inventory.catalogue import FAMILIES, UnknownFamily, UnknownPoint, by_code

_FOLDER = Path(__file__).resolve().parent.parent / "templates" / "inventory" / "drawings"
_SVG = "http://www.w3.org/2000/svg"
_G = f"{{{_SVG}}}g"
_ACTIVE_WIDTH = "2.8"


def render(family: str, *, active: str | None, codes: Collection[str], mirrored: bool = False) -> str:
    """The family's drawing as SVG text, with the points in ``codes`` and the ``active`` one marked.

    ``mirrored`` draws the wearer's right side; the text stays upright. Raises UnknownFamily, and
    UnknownPoint for a code that is not drawn or an active point that is not among ``codes``.
    """
    return _render(family, active, frozenset(codes), mirrored)


def drawn_codes(family: str) -> frozenset[str]:
    """The codes of the points that the family's drawing shows; raises UnknownFamily.

    A shop's own points have no place in the drawing: keep to these when calling ``render``.
    """
    return frozenset(_groups(_art(family)))


@lru_cache(maxsize=512)
def _render(family: str, active: str | None, codes: frozenset[str], mirrored: bool) -> str:  # noqa: FBT001
    # Positional, because lru_cache keys on the call as written and this one is private.
    root = deepcopy(_art(family))
    groups = _groups(root)
    for code in sorted(codes - groups.keys()):
        raise UnknownPoint(code, family, groups)
    if active is not None and active not in codes:
        raise UnknownPoint(active, family, sorted(codes))
    for code, group in groups.items():
        if code not in codes:
            root.remove(group)
    _keep_side(root, "R" if mirrored else "L")
    _keep_needed(root, codes)
    _say_title(root, family, active, mirrored=mirrored)
    if active is not None:
        _mark(groups[active])
        root.remove(groups[active])  # drawn last, so that no other line crosses the mark
        root.append(groups[active])
    if mirrored:
        _mirror(root)
    return _written(root)


def _written(root: ET.Element) -> str:
    """The drawing as text, without prefixes.

    ElementTree keeps its prefixes in one table for the whole process, and a library that reads spreadsheets
    or draws codes takes the empty one for itself: pages would then get ``<ns0:svg>``, which no browser draws.
    """
    for element in root.iter():
        element.tag = element.tag.removeprefix(f"{{{_SVG}}}")
    root.attrib = {"xmlns": _SVG, **root.attrib}
    return ET.tostring(root, encoding="unicode", short_empty_elements=True)


@lru_cache(maxsize=16)
def _art(family: str) -> ET.Element:
    if family not in FAMILIES:
        raise UnknownFamily(family, FAMILIES)
    return ET.parse(_FOLDER / f"{family}.svg").getroot()  # noqa: S314 - our own file, shipped with the code


def _groups(root: ET.Element) -> dict[str, ET.Element]:
    return {code: group for group in root.findall(_G) if (code := group.get("data-point")) is not None}


def _keep_side(element: ET.Element, side: str) -> None:
    for child in list(element):
        if child.get("data-side", side) == side:
            child.attrib.pop("display", None)  # the right side's parts are hidden in the file itself
            _keep_side(child, side)
        else:
            element.remove(child)


def _keep_needed(element: ET.Element, codes: frozenset[str]) -> None:
    for child in list(element):
        needs = child.get("data-needs")
        if needs is not None and codes.isdisjoint(needs.split()):
            element.remove(child)
        else:
            _keep_needed(child, codes)


def _say_title(root: ET.Element, family: str, active: str | None, *, mirrored: bool) -> None:
    title = root.find(f"{{{_SVG}}}title")
    assert title is not None
    words = [title.text or ""]
    if FAMILIES[family].group == "laced":
        words.append("right half" if mirrored else "left half")
    if active is not None:
        words.append(f"{by_code(family, active).name} ({active}) marked")
    title.text = ", ".join(words)


def _mark(group: ET.Element) -> None:
    group.set("class", "pom is-active")
    group.set("stroke-width", _ACTIVE_WIDTH)
    for element in group.iter():
        if element.get("class") == "pom-box":
            element.set("fill", "currentColor")
        elif element.get("class") == "pom-code":
            element.set("fill", "white")
        elif element.get("class") == "pom-arrows":
            element.set("stroke", "currentColor")
            element.set("stroke-width", "1.2")


def _mirror(root: ET.Element) -> None:
    width = root.get("viewBox", "").split()[2]
    for group in root.findall(_G):
        if "fixed" in group.get("class", "").split():
            continue
        group.set("transform", f"translate({width} 0) scale(-1 1)")
        for upright in group.iter(_G):
            if upright.get("class") == "upright":
                upright.set("transform", f"{upright.get('transform', '')} scale(-1 1)")
