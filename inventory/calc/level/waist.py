"""Where a hidden waist line is: what was found of it, by order of trust.

The order and the uncertainties are common practice, no source: a shop's own study replaces them. All heights
are above the same edge, at the same place of the garment.
"""

from collections.abc import Mapping
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Display, show, show_uncertainty
from inventory.calc.level.working import Given, Outcome, Working, WorkingKind, whole_u

MM = 1_000_000

APART_NM = 5 * MM
"""Anchors further apart than this are both recorded. Common practice, no source."""


class Anchor(StrEnum):
    """What shows the line, most trusted first."""

    TAPE = "waist tape or its stitch line"
    RIDGE = "ridge felt between the layers"
    NOTCHES = "notches or thread marks at the seams"
    HARD_EDGE = "distance from a hard edge in the spec"
    EYELETS = "closer eyelets at the waist"
    NARROWEST = "narrowest place"


U_HEIGHT_NM: Mapping[Anchor, int] = {
    Anchor.TAPE: 1 * MM,
    Anchor.RIDGE: 2 * MM,
    Anchor.NOTCHES: 2 * MM,
    Anchor.HARD_EDGE: 3 * MM,
    Anchor.EYELETS: 4 * MM,
    Anchor.NARROWEST: 5 * MM,
}
"""How well each gives the height (standard uncertainty, nm). Common practice, no source."""


def waist_line(
    heights_nm: Mapping[Anchor, int],
    *,
    display: Display,
    u_height_nm: Mapping[Anchor, int] = U_HEIGHT_NM,
    apart_nm: int = APART_NM,
) -> Working:
    """The height (nm) by the most trusted anchor found; the others are compared with it.

    Raises ImpossibleInput when nothing was found, or for a height below the edge it is taken from.

    >>> from inventory.calc.length import Unit
    >>> heights = {Anchor.NARROWEST: 171_000_000, Anchor.TAPE: 178_000_000}
    >>> found = waist_line(heights, display=Display(Unit.MM))
    >>> found.result_nm, found.outcome.value
    (178000000, 'differ')
    """
    found = [anchor for anchor in Anchor if anchor in heights_nm]
    if not found:
        raise ImpossibleInput("waist line", "without anything that shows it", "Find at least one anchor")
    for anchor in found:
        if heights_nm[anchor] < 0:
            height = show(heights_nm[anchor], display)
            raise ImpossibleInput(f"height of the {anchor}", height, "Measure it up from the edge")
    best, *others = found
    height_nm, u_nm = heights_nm[best], whole_u(u_height_nm[best], f"uncertainty of the {best}")
    sentence = f"Measure at {show(height_nm, display)} ({best}), "
    sentence += f"known to about {show_uncertainty(u_nm, display)}."
    off_nm = {
        anchor: heights_nm[anchor] - height_nm
        for anchor in others
        if abs(heights_nm[anchor] - height_nm) > apart_nm
    }
    if off_nm:
        sentence += _disagreement(best, off_nm, display)
    elif others:
        sentence += " What else was found agrees."
    return Working(
        kind=WorkingKind.WAIST_LINE,
        given=tuple(Given(anchor.capitalize(), heights_nm[anchor]) for anchor in found),
        formula="The most trusted of what was found gives the height",
        result="Height of the waist line",
        result_nm=height_nm,
        u_nm=u_nm,
        outcome=Outcome.DIFFER if off_nm else Outcome.AGREE if others else Outcome.FOUND,
        sentence=sentence,
    )


def _disagreement(best: Anchor, off_nm: Mapping[Anchor, int], display: Display) -> str:
    told = " and ".join(
        f"the {anchor} is {show(abs(apart), display)} {'higher' if apart > 0 else 'lower'}"
        for anchor, apart in off_nm.items()
    )
    suspect = "the tape" if best in (Anchor.TAPE, Anchor.RIDGE) else "one of them"
    return f" But {told}. Record both: {suspect} may be set at the wrong height."
