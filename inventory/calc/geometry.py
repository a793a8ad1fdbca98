"""What the lie of the tape does to a reading on a flat garment.

A slanted tape never reads short: it reads the long side of a triangle. The excess grows with the square
of the rise, so a small slant hardly matters (20 mm over 300 mm adds 0.7 mm). Following a curved edge
instead of the straight line adds more, and a line at the wrong height on a flaring part adds most. Two
edge distances are enough to take a slant out again; the other two effects can only be estimated, and the
estimate belongs into the uncertainty, not into the reading.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import to_mm


def slanted_reading(straight_nm: int, *, rise_nm: int) -> int:
    """What a tape reads in nm when its far end lies `rise_nm` too high or too low: √(straight² + rise²).

    >>> slanted_reading(300_000_000, rise_nm=20_000_000) - 300_000_000
    665928
    """
    _not_negative("straight length", straight_nm)
    return _root(straight_nm * straight_nm + rise_nm * rise_nm)


def straight_from_slanted(reading_nm: int, *, rise_nm: int) -> int:
    """The straight length in nm behind a slanted reading: √(reading² − rise²).

    `rise_nm` is the difference of the two end heights, from two edge distances; its sign is of no
    matter. Raises ImpossibleInput if the rise is longer than the reading.

    >>> straight_from_slanted(50_000_000, rise_nm=30_000_000)
    40000000
    """
    _not_negative("reading", reading_nm)
    if abs(rise_nm) > reading_nm:
        fault = f"{to_mm(abs(rise_nm))} mm, longer than the slanted reading of {to_mm(reading_nm)} mm"
        raise ImpossibleInput("rise", fault, "Check the two edge distances and the reading")
    return _root(reading_nm * reading_nm - rise_nm * rise_nm)


def along_the_edge_excess(chord_nm: int, *, sag_nm: int) -> int:
    """How much longer an edge reads along its curve than straight across, in nm: 8·sag²/(3·chord).

    `sag_nm` is the greatest distance of the edge from the straight line. The formula is the first term
    of the series of a flat arc (for a parabola and for a circle alike); the next term takes off at most
    2.4·(sag/chord)² of it, 15 % at the deepest curve accepted here, a sag of a quarter of the chord.
    Source: textbooks of surveying and of cables, from memory. "Along" and "straight" are two different
    points: this is for recognising a mix-up, never for correcting a reading.

    >>> along_the_edge_excess(280_000_000, sag_nm=20_000_000)
    3809524
    """
    _not_negative("sag", sag_nm)
    if chord_nm <= 0 or 4 * sag_nm > chord_nm:
        fault = f"{to_mm(sag_nm)} mm over a chord of {to_mm(chord_nm)} mm, too deep to estimate"
        raise ImpossibleInput("sag", fault, "Measure along the edge instead")
    return _nearest(8 * sag_nm * sag_nm, 3 * chord_nm)


def height_sensitivity(girth_nm: int, other_girth_nm: int, *, distance_nm: int) -> float:
    """Change of a girth per height, mm per mm, from two neighbouring girths of the spec.

    `distance_nm` is the height between them. It is an average: at the narrowest place the true
    sensitivity is zero, near a flaring edge it is larger. Both girths must be of the same kind, halves or
    fulls. Raises ImpossibleInput for a distance that is not above zero.

    >>> height_sensitivity(330_000_000, 430_000_000, distance_nm=100_000_000)
    1.0
    """
    if distance_nm <= 0:
        fault = f"{to_mm(distance_nm)} mm"
        raise ImpossibleInput("distance between two girths", fault, "Give a distance above zero")
    return (other_girth_nm - girth_nm) / distance_nm


def u_from_height_nm(sensitivity: float, *, u_height_nm: float) -> float:
    """Standard uncertainty of a girth, in nm, that comes from not finding its height exactly.

    >>> u_from_height_nm(-0.5, u_height_nm=4_000_000.0)
    2000000.0
    """
    if u_height_nm < 0:
        raise ImpossibleInput("uncertainty of the height", f"{u_height_nm} nm", "Give zero or more")
    return abs(sensitivity) * u_height_nm


@dataclass(frozen=True, slots=True)
class PanelSum:
    """A girth added up from its panels, and the standard uncertainty from rounding each reading."""

    total_nm: int
    u_rounding_nm: float


def panel_sum(panels_nm: Sequence[int], *, step_nm: int) -> PanelSum:
    """The referee's way to a girth that will not lie flat: each panel seam to seam, added.

    `step_nm` is what the readings were rounded to (1 mm: 1 000 000). Rounding is uniform within a step,
    so each panel adds step/√12 and n panels √n times that (GUM 4.3.7, from memory); 0.3 mm·√n when
    read to whole millimetres. Raises ImpossibleInput for no panels or a panel without width.

    >>> panel_sum([55_000_000, 54_000_000, 56_000_000], step_nm=1_000_000)
    PanelSum(total_nm=165000000, u_rounding_nm=500000.0)
    """
    if not panels_nm:
        raise ImpossibleInput("panel sum", "without panels", "Read at least one panel")
    for number, panel_nm in enumerate(panels_nm, start=1):
        if panel_nm <= 0:
            fault = f"{to_mm(panel_nm)} mm wide"
            raise ImpossibleInput(f"panel {number}", fault, "Read it from seam to seam")
    if step_nm < 0:
        raise ImpossibleInput("rounding step", f"{to_mm(step_nm)} mm", "Give zero or more")
    return PanelSum(sum(panels_nm), step_nm * math.sqrt(len(panels_nm) / 12))


def _not_negative(thing: str, nm: int) -> None:
    if nm < 0:
        raise ImpossibleInput(thing, f"{to_mm(nm)} mm", "Give zero or more")


def _root(square: int) -> int:
    """The whole number nearest to the square root; exact for any size, unlike a float."""
    root = math.isqrt(square)
    return root + 1 if square - root * root > root else root


def _nearest(top: int, bottom: int) -> int:
    return (2 * top + bottom) // (2 * bottom)
