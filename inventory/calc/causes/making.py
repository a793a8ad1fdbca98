"""Causes in the maker's workroom that run through the whole batch: seams, pattern, grading, edges, waist.

None of them moves the check garment. The usual sizes of the effects (mm, shares) are common practice, no
source; so is it that cloth moves along the warp, which is held under tension on the loom, more than across.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np

from inventory.calc.causes.batch import Grain
from inventory.calc.causes.layout import Floats, Layout
from inventory.calc.causes.variants import Prior, Variant, Variants, Where, gather

PER_SEAM: Final = Prior(0.0, 0.8)
PATTERN: Final = Prior(0.0, 6.0)
PER_SIZE: Final = Prior(0.0, 3.0)
CLOTH: Final = Prior(0.0, 0.015)
BINDING: Final = Prior(-5.0, 4.0)
WAIST_TAPE: Final = Prior(0.0, 6.0)
ONE_STEP: Final = Prior(1.0, 0.1)
"""Made to other nominals: off by exactly the step between the two, give or take a tenth."""

USUAL_SEAMS: Final = 6
"""Seams a girth is taken to cross where nobody said how many."""

LEAST_SIZES: Final = 3
"""With two sizes a gradient cannot be told from two patterns."""


def seams(layout: Layout) -> Variants | None:
    """All girths: so many mm a seam crossed."""
    crossed = np.where(np.isnan(layout.seams), USUAL_SEAMS, layout.seams)
    column = np.where(layout.girth & layout.inside, crossed, 0.0)
    return gather([Variant(Where(), column)], PER_SEAM)


def pattern(layout: Layout) -> Variants | None:
    """One point: the same mm in every piece."""
    return gather((Variant(Where(codes=(code,)), at) for code, at in _each_point(layout)), PATTERN)


def grading(layout: Layout) -> Variants | None:
    """One point: so many mm a size, counted from the smallest, a middle or the largest size."""
    sizes = np.unique(layout.size[layout.inside])
    if len(sizes) < LEAST_SIZES:
        return None
    bases = sizes[[0, len(sizes) // 2, -1]]
    labels = {piece.size: piece.size_label for piece in layout.batch.pieces}
    return gather(
        (
            Variant(Where(codes=(code,), size=labels[int(base)]), at * (layout.size - base))
            for code, at in _each_point(layout)
            for base in bases
        ),
        PER_SIZE,
    )


def cloth(layout: Layout) -> Variants | None:
    """Lengths in one direction of the cloth: the same share; or one direction out as the other draws in."""
    points = layout.batch.points
    along, across = (
        layout.at_points([point.lies_in is grain for point in points]) * layout.nominal
        for grain in (Grain.WARP, Grain.WEFT)
    )
    codes = {grain: tuple(point.code for point in points if point.lies_in is grain) for grain in Grain}
    ways = [Variant(Where(codes=codes[Grain.WARP]), along, weight=0.6)]
    ways.append(Variant(Where(codes=codes[Grain.WEFT]), across, weight=0.2))
    if along.any() and across.any():
        ways.append(Variant(Where(codes=codes[Grain.WARP] + codes[Grain.WEFT]), along - across, weight=0.2))
    return gather(ways, CLOTH)


def binding(layout: Layout) -> Variants | None:
    """The bound edges: the top, the bottom, or both, by the same mm."""
    points = layout.batch.points
    ways = []
    for edges in (("top",), ("bottom",), ("top", "bottom")):
        codes = tuple(point.code for point in points if point.bound_edge in edges)
        column = layout.at_points([point.code in codes for point in points]).astype(float)
        ways.append(Variant(Where(codes=codes), column))
    present = {point.bound_edge for point in points} - {""}
    return gather(ways if len(present) > 1 else ways[:2], BINDING)


def waist_tape(layout: Layout) -> Variants | None:
    """The waist alone: the same mm in every piece, both sides or one."""
    at, codes = waist(layout)
    ways = [Variant(Where(codes=codes), at)]
    for place, side in enumerate("LR"):
        ways.append(Variant(Where(codes=codes, side=side), at * (layout.side == place), weight=0.25))
    return gather(ways, WAIST_TAPE)


def old_spec(layout: Layout) -> Variants | None:
    """Every point: off by the step from the nominal to the former one."""
    step = np.nan_to_num(layout.step_former)
    changed = {int(place) for place in layout.point[step != 0]}
    codes = tuple(point.code for place, point in enumerate(layout.batch.points) if place in changed)
    return gather([Variant(Where(codes=codes), step)], ONE_STEP)


def waist(layout: Layout) -> tuple[Floats, tuple[str, ...]]:
    """1 on every reading of the waist, and the codes it has."""
    points = layout.batch.points
    at = layout.at_points([point.at_waist for point in points]).astype(float)
    return at, tuple(point.code for point in points if point.at_waist)


def _each_point(layout: Layout) -> Iterator[tuple[str, Floats]]:
    for place, point in enumerate(layout.batch.points):
        yield point.code, (layout.point == place).astype(float)
