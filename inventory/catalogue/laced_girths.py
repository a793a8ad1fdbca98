"""Half girths of laced, boned waist garments: each half is opened out and read from front edge to back edge.

Front edge: the finished edge where the two fronts meet when closed. Back edge: the finished edge at the
lacing. The closed girth is left half plus right half, lacing shut, no gap. Inch figures in the comments are
the trade's near equivalents: 1/4 in is 6.35 mm exactly, 5/16 in 7.9375 mm, 3/8 in 9.525 mm.
"""

from inventory.catalogue.points import PAIR, CataloguePoint, ReadingClass, mm

LACED = ("laced_underbust", "laced_overbust")
OVERBUST = ("laced_overbust",)

FRONT_EDGE = "front edge, where the two fronts meet when closed"
BACK_EDGE = "back edge at the lacing, not the eyelets"
OUTSIDE = "outside, inside face down"
TAUT = "taut: bulges smoothed out, cloth straight, not stretched; laces slack, front open"
RELAXED = "relaxed: smoothed, not pulled; laces slack, front open"

_HALF_LIMIT_NM = mm(6)  # between the two halves: 1/4 in

GIRTHS: tuple[CataloguePoint, ...] = (
    CataloguePoint(
        code="TE",
        group="laced",
        name="half top edge",
        from_=FRONT_EDGE,
        to=BACK_EDGE,
        path="along the edge",
        level="the finished top edge itself, binding included",
        state=RELAXED,
        face=OUTSIDE,
        kind="half",
        sides=PAIR,
        families=LACED,
        position=10,
        tolerance_minus_nm=mm(10),  # usual range 8-10 mm a half (5/16-3/8 in)
        tolerance_plus_nm=mm(10),
        asymmetry_limit_nm=_HALF_LIMIT_NM,
        reading_class=ReadingClass.ALONG_CURVE,
        pitfalls="Binding sewn too tight pulls the edge in: compare with the underbust just below. Walk the "
        "tape round the curve on its edge, do not cut the corner.",
    ),
    CataloguePoint(
        code="FB",
        group="laced",
        name="half full bust",
        from_=FRONT_EDGE,
        to=BACK_EDGE,
        path="straight over the fullest place",
        level="the stated distance below the top at the front edge, square to the front edge",
        state="relaxed: cups left standing, not pressed flat; laces slack, front open",
        face=OUTSIDE,
        kind="half",
        sides=PAIR,
        families=OVERBUST,
        core_in=OVERBUST,
        position=20,
        tolerance_minus_nm=mm(10),  # usual range 8-10 mm a half
        tolerance_plus_nm=mm(10),
        asymmetry_limit_nm=_HALF_LIMIT_NM,
        reading_class=ReadingClass.ALONG_CURVE,
        pitfalls="Cups will not lie flat, and pressing them stretches the half. If two readings disagree, "
        "measure panel by panel, seam to seam on the same level, and add up.",
    ),
    CataloguePoint(
        code="UB",
        group="laced",
        name="half underbust",
        from_=FRONT_EDGE,
        to=BACK_EDGE,
        path="straight",
        level="the height named on the spec: the stated distance below the top at the front edge, else the "
        "height of the top edge at the side seam",
        state=TAUT,
        face=OUTSIDE,
        kind="half",
        sides=PAIR,
        families=LACED,
        core_in=LACED,
        position=30,
        tolerance_minus_nm=mm(6),  # 1/4 in
        tolerance_plus_nm=mm(6),
        asymmetry_limit_nm=_HALF_LIMIT_NM,
        reading_class=ReadingClass.SLOPING,
        pitfalls="The top edge dips and peaks: following it instead of going straight adds 1 to 20 mm. A "
        "line at the wrong height reads wrong at both ends.",
    ),
    CataloguePoint(
        code="WA",
        group="laced",
        name="half waist",
        from_=FRONT_EDGE,
        to=BACK_EDGE,
        path="straight",
        level="on the line of the waist tape; where there is none, at the narrowest place",
        state=TAUT,
        face=OUTSIDE,
        kind="half",
        sides=PAIR,
        families=LACED,
        core_in=LACED,
        position=40,
        # 1/4 in a half; strict makers agree to 3 mm (1/8 in). The closed waist is often quoted at 10-13 mm.
        tolerance_minus_nm=mm(6),
        tolerance_plus_nm=mm(6),
        asymmetry_limit_nm=_HALF_LIMIT_NM,
        reading_class=ReadingClass.HIDDEN_LEVEL,
        pitfalls="Feel for a hidden tape as a ridge between the layers, mark it at front, side and back, "
        "then measure. If it sits over 5 mm from the narrowest place, note both: the tape may be "
        "set wrong. Stop at the front edge, not at the end of a busk loop.",
    ),
    CataloguePoint(
        code="HH",
        group="laced",
        name="half high hip",
        from_=FRONT_EDGE,
        to=BACK_EDGE,
        path="straight",
        level="the stated distance below the waist line, commonly 75 to 100 mm, marked at front and back "
        "edge",
        state=TAUT,
        face=OUTSIDE,
        kind="half",
        sides=PAIR,
        families=LACED,
        core_in=LACED,
        position=50,
        tolerance_minus_nm=mm(8),  # usual range 6-8 mm a half (1/4-5/16 in)
        tolerance_plus_nm=mm(8),
        asymmetry_limit_nm=_HALF_LIMIT_NM,
        reading_class=ReadingClass.SLOPING,
        pitfalls="The garment flares here: 10 mm too low can read 10 mm too large. Mark the height first. "
        "The flare cups; press only the level you are reading and let the rest rise.",
    ),
    CataloguePoint(
        code="LE",
        group="laced",
        name="half lower edge",
        from_=FRONT_EDGE,
        to=BACK_EDGE,
        path="along the edge",
        level="the finished lower edge itself, binding included",
        state=RELAXED,
        face=OUTSIDE,
        kind="half",
        sides=PAIR,
        families=LACED,
        core_in=LACED,
        position=60,
        tolerance_minus_nm=mm(10),  # usual range 8-10 mm a half (5/16-3/8 in)
        tolerance_plus_nm=mm(10),
        asymmetry_limit_nm=_HALF_LIMIT_NM,
        reading_class=ReadingClass.ALONG_CURVE,
        pitfalls="Along the curve and straight across are two different points. If the spec wants it "
        "straight at a level, change the path word before anyone measures.",
    ),
)
