"""A line that lay slanted, and a line at a height that is not known exactly."""

import math

from inventory.calc.geometry import height_sensitivity, straight_from_slanted, u_from_height_nm
from inventory.calc.length import Display, Unit, show, show_uncertainty
from inventory.calc.level.working import Given, Outcome, Working, WorkingKind, whole_u

_TEN_MM_NM = 10_000_000
_HALF_INCH_NM = 12_700_000


def slant_corrected(
    reading_nm: int, *, start_height_nm: int, end_height_nm: int, u_height_nm: float, display: Display
) -> Working:
    """The straight length behind a slanted reading, from the heights of both ends above one straight edge.

    ``u_height_nm`` is how well one height is known. The uncertainty is that of the correction alone; it never
    comes out as zero for a tape that seemed level, since both heights may be off. Raises ImpossibleInput when
    the ends differ in height by more than the reading.

    >>> from inventory.calc.length import Unit
    >>> found = slant_corrected(300_700_000, start_height_nm=100_000_000, end_height_nm=120_000_000,
    ...                         u_height_nm=1_000_000, display=Display(Unit.MM))
    >>> print(found.sentence)
    The far end lay 20 mm off its level: the tape read 0.7 mm too long.
    """
    u_rise_nm = math.sqrt(2) * whole_u(u_height_nm, "uncertainty of a height")
    rise_nm = end_height_nm - start_height_nm
    straight_nm = straight_from_slanted(reading_nm, rise_nm=rise_nm)
    # How the straight length moves with the rise: the slope, and at no rise at all the curve (the root of the
    # mean square of rise²/2 is √3·u²/2 for a bell-shaped doubt).
    curve = math.sqrt(3) * u_rise_nm**2 / 2
    u_nm = (abs(rise_nm) * u_rise_nm + curve) / straight_nm if straight_nm else u_rise_nm
    if rise_nm:
        excess_nm = reading_nm - straight_nm
        sentence = (
            f"The far end lay {show(abs(rise_nm), display)} off its level: "
            f"the tape read {show(excess_nm, display)} too long."
        )
    else:
        sentence = "Both ends lay at one height: nothing to take off."
    return Working(
        kind=WorkingKind.SLANT,
        given=(
            Given("Reading", reading_nm),
            Given("Height at the start", start_height_nm),
            Given("Height at the far end", end_height_nm),
        ),
        formula="Straight length = √(reading² − difference of the two heights²)",
        result="Straight length",
        result_nm=straight_nm,
        u_nm=whole_u(u_nm),
        outcome=Outcome.FOUND,
        sentence=sentence,
    )


def level_effect(
    girth_nm: int, neighbour_nm: int, *, distance_nm: int, u_height_nm: float, display: Display
) -> Working:
    """What a height known to ``u_height_nm`` does to a girth, judged by the neighbouring girth of the spec.

    ``distance_nm`` is the height between the two. The result is the change of the girth over a short stretch
    of height, 10 mm or half an inch as the shop measures; the uncertainty is the one to be reckoned with. At
    the narrowest place it is overstated, which is on the safe side. Raises ImpossibleInput for a distance
    that is not above zero.

    >>> from inventory.calc.length import Unit
    >>> found = level_effect(330_000_000, 430_000_000, distance_nm=100_000_000, u_height_nm=3_000_000,
    ...                      display=Display(Unit.MM))
    >>> print(found.sentence)
    10 mm lower or higher changes the reading by 10 mm; the height adds 3.0 mm of uncertainty.
    """
    u_level_nm = whole_u(u_height_nm, "uncertainty of the height")
    sensitivity = height_sensitivity(girth_nm, neighbour_nm, distance_nm=distance_nm)
    u_nm = whole_u(u_from_height_nm(sensitivity, u_height_nm=u_level_nm))
    stretch_nm = _HALF_INCH_NM if display.unit == Unit.INCH else _TEN_MM_NM
    change_nm = round(abs(sensitivity) * stretch_nm)
    return Working(
        kind=WorkingKind.LEVEL,
        given=(
            Given("Girth", girth_nm),
            Given("Neighbouring girth", neighbour_nm),
            Given("Height between them", distance_nm),
            Given("Height known to", u_level_nm),
        ),
        formula="Uncertainty = difference of the girths ÷ height between them × how well the height is known",
        result=f"Change over {show(stretch_nm, display)} of height",
        result_nm=change_nm,
        u_nm=u_nm,
        outcome=Outcome.FOUND,
        sentence=(
            f"{show(stretch_nm, display)} lower or higher changes the reading by {show(change_nm, display)}; "
            f"the height adds {show_uncertainty(u_nm, display)} of uncertainty."
        ),
    )
