"""The uncertainty budget of a point: what a reading may be off, part by part, as a table a maker can read.

Each part is a standard uncertainty with its source, how it is known (type A: from readings of one's own,
type B: from anything else, such as a class or a statement) and how well it is known itself (its degrees of
freedom). The parts are added as squares, each times its sensitivity; the degrees of freedom come together
by Welch and Satterthwaite; the coverage factor k is Student's t for them, and U = k·u is what is printed,
rounded up (GUM, JCGM 100:2008, 5.1, 6.2, G.4; from memory).

    component   one part, and where it comes from
    combine     parts -> combined u, degrees of freedom, k, U, shares
    sources     parts of a tape reading: tape, division, repeat, person, level, state
    points      how they come together in a half, a mean, a full girth, a left-right difference

A budget and `uncertainty` agree to the nanometre: `points.reading_error` packs the same parts into the
`ReadingError` that judging works with.
"""

from inventory.calc.budget.combine import Budget, Row, combine, coverage_factor, rounded_up_nm
from inventory.calc.budget.component import Component, Distribution, Known
from inventory.calc.budget.points import PointParts, reading_error
from inventory.calc.budget.sources import (
    from_class,
    from_tape_check,
    level,
    level_sensitivity,
    person,
    placing_share,
    repeatability,
    resolution,
    state,
    tape,
)

__all__ = [
    "Budget",
    "Component",
    "Distribution",
    "Known",
    "PointParts",
    "Row",
    "combine",
    "coverage_factor",
    "from_class",
    "from_tape_check",
    "level",
    "level_sensitivity",
    "person",
    "placing_share",
    "reading_error",
    "repeatability",
    "resolution",
    "rounded_up_nm",
    "state",
    "tape",
]
