"""Placements and details of laced, boned waist garments: eyelets, panels, what sticks out, thickness.

The panel widths are the referee for a waist in dispute: added up they give the half waist without anyone
having to press a shaped half flat, and they show which panel is off.
"""

from inventory.catalogue.laced_girths import BACK_EDGE, LACED, OUTSIDE
from inventory.catalogue.points import PAIR, SINGLE, CataloguePoint, ReadingClass, mm

_FLAT = "flat: lying by itself, laces slack, front open"
_PANELS = 6


def _panel(number: int) -> CataloguePoint:
    from_ = "front edge" if number == 1 else f"seam between panels {number - 1} and {number}"
    to = (
        "back edge"
        if number == _PANELS
        else f"seam between panels {number} and {number + 1}; the back edge if it is the last panel"
    )
    return CataloguePoint(
        code=f"PN{number}",
        group="laced",
        name=f"panel {number} width at the waist",
        from_=from_,
        to=to,
        path="straight",
        level="on the waist line, the same as for the half waist",
        state="taut: this panel smoothed flat, the others left to rise",
        face=OUTSIDE,
        kind="placement",
        sides=PAIR,
        families=LACED,
        position=230 + number,
        tolerance_minus_nm=mm(3),  # usual range 2-3 mm
        tolerance_plus_nm=mm(3),
        asymmetry_limit_nm=mm(3),
        reading_class=ReadingClass.HARD_EDGE,
        pitfalls="Panels are numbered from the front edge to the back edge. Rounding adds up over the "
        "panels: read to 0.5 mm.",
    )


DETAILS: tuple[CataloguePoint, ...] = (
    CataloguePoint(
        code="EY",
        group="laced",
        name="eyelet row, first to last",
        from_="centre of the uppermost eyelet",
        to="centre of the lowest eyelet",
        path="straight",
        level="along the eyelet row",
        state=_FLAT,
        face=OUTSIDE,
        kind="placement",
        sides=PAIR,
        families=LACED,
        position=210,
        tolerance_minus_nm=mm(2),
        tolerance_plus_nm=mm(2),
        asymmetry_limit_nm=mm(3),
        reading_class=ReadingClass.HARD_EDGE,
        pitfalls="Count the eyelets as well; the count must match exactly, left and right. The pitch is "
        "this length divided by one less than the count. Rows at different heights twist the "
        "lacing.",
    ),
    CataloguePoint(
        code="ES",
        group="laced",
        name="eyelet to back edge",
        from_="centre of the eyelet",
        to=BACK_EDGE,
        path="straight",
        level="at the eyelet nearest to the edge",
        state=_FLAT,
        face=OUTSIDE,
        kind="placement",
        sides=PAIR,
        families=LACED,
        position=220,
        tolerance_minus_nm=mm(2),
        tolerance_plus_nm=mm(2),
        asymmetry_limit_nm=mm(3),
        reading_class=ReadingClass.HARD_EDGE,
        pitfalls="An eyelet too near the edge tears out under load. Look for cloth cut round the barrel.",
    ),
    *(_panel(number) for number in range(1, _PANELS + 1)),
    CataloguePoint(
        code="MP",
        group="laced",
        name="modesty panel width",
        from_="one long edge of the panel behind the lacing",
        to="its other long edge",
        path="straight",
        level="at the waist line, square to the panel",
        state="flat: the panel folded out",
        face="outside",
        kind="placement",
        sides=SINGLE,
        families=LACED,
        position=240,
        tolerance_minus_nm=mm(5),
        tolerance_plus_nm=mm(5),
        reading_class=ReadingClass.HARD_EDGE,
        pitfalls="Never count it into a half girth: it lies behind the gap. It covers a stated gap only.",
    ),
    CataloguePoint(
        code="PO",
        group="laced",
        name="placket overhang",
        from_="front edge, where the two fronts meet when closed",
        to="outer edge of the placket behind the fastening",
        path="straight",
        level="at the waist line, square to the front edge",
        state="flat: the placket lying out",
        face="outside",
        kind="placement",
        sides=SINGLE,
        families=LACED,
        position=250,
        tolerance_minus_nm=mm(5),
        tolerance_plus_nm=mm(5),
        reading_class=ReadingClass.HARD_EDGE,
        pitfalls="The placket sticks out past the front edge on one side only. Counting it into that half "
        "is a common slip and adds 10 to 30 mm.",
    ),
    CataloguePoint(
        code="TH",
        group="laced",
        name="thickness at the waist",
        from_="inside face",
        to="outside face",
        path="straight through all layers, over a bone",
        level="on the waist line",
        state="pinched lightly with a gauge, not squeezed",
        face="both faces",
        kind="length",
        sides=SINGLE,
        families=LACED,
        position=260,
        tolerance_minus_nm=mm(1),  # never judged; a figure only so that the field is not empty
        tolerance_plus_nm=mm(1),
        reading_class=ReadingClass.HARD_EDGE,
        informational=True,
        pitfalls="For information: worn, the outside of the waist is about 6.3 times the thickness longer "
        "than the inside. Laid flat the two faces differ far less.",
    ),
)
