"""Help at the bench for lines that are hard to find or will not lie flat; each helper shows its working.

- ``slant_corrected``: the straight length behind a tape that lay slanted, from the heights of its two ends.
- ``edge_or_straight``: whether a reading looks as if it was taken along a curved edge or straight across.
- ``waist_line``: the height of a hidden waist line from what was found of it, by order of trust.
- ``level_effect``: what not finding a height exactly does to a girth, from its neighbour in the spec.
- ``referee``: a girth added up panel by panel, against the straight reading.

Each returns a ``Working``: what went in, the formula in words, what came out and the conclusion. It is JSON
through ``as_document`` and ``read_working``, to be kept with the reading; ``lines`` shows it step by step.
Nothing is ever corrected silently: the bench asks, and the reading that was taken stays.
"""

from inventory.calc.level.edge import edge_or_straight
from inventory.calc.level.lines import level_effect, slant_corrected
from inventory.calc.level.panels import referee
from inventory.calc.level.waist import U_HEIGHT_NM, Anchor, waist_line
from inventory.calc.level.working import Given, Outcome, Working, WorkingKind, read_working

__all__ = [
    "U_HEIGHT_NM",
    "Anchor",
    "Given",
    "Outcome",
    "Working",
    "WorkingKind",
    "edge_or_straight",
    "level_effect",
    "read_working",
    "referee",
    "slant_corrected",
    "waist_line",
]
