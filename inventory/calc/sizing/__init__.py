"""Which size a piece really is.

When a reading is outside the limits of the size on the label, all other sizes are tried. A size fits when
every reading lies within its plain limits, without guard bands: the question is which size was meant, not
what can be proved. Of the sizes that fit the one with the most room at its tightest point is named; a
piece that fits none is simply wrong. Left against right plays no part: no size makes up for a twist.

A half whose tolerance is stated for the full girth is compared as a full girth (aspect "F"): left plus
right, or twice the only half read.

``piece`` goes a piece at a time, ``many`` through arrays of pieces with the same label; both give the
same answers.
"""

from inventory.calc.sizing.many import ManySizes, fit_sizes_many
from inventory.calc.sizing.piece import Grid, SizeAnswer, fit_sizes

__all__ = ["Grid", "ManySizes", "SizeAnswer", "fit_sizes", "fit_sizes_many"]
