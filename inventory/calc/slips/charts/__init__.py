"""Which figure of a graded chart looks like a slip. It asks; it never alters a figure.

A chart has no limits of its own: what a nominal should be is told by the sizes beside it, by the grade step
where one is stated, and by the revision in force. Grading is seldom even, but it is orderly: steps grow or
shrink along the run, they do not swing. So a figure between others lies in a band that the steps around it
span; a figure at the end of the run may open a new step, and lies in a wider one. A figure outside its narrow
band is asked about when a known slip of the hand brings it back in; one outside the wide band always. How
wide the bands are is common practice without a written source.

    rows        the figures of one point along the sizes
    bands       what the other sizes leave to one figure
    explained   a slip of the hand that brings a figure back into its band
    outliers    the odd figures of one row, one after the other
    in_force    the same against the revision in force
    steps       a stated grade step that no two sizes show
    allowances  tolerances and left-right limits out of proportion
    run         sizes in a backward or mixed order
    wording     the questions in plain words
"""

from inventory.calc.slips.charts.allowances import Allowance, odd_allowances
from inventory.calc.slips.charts.outliers import look_along
from inventory.calc.slips.charts.rows import ChartRow, Figure, Odd
from inventory.calc.slips.charts.run import places_of, question_of_order
from inventory.calc.slips.charts.steps import odd_step

__all__ = [
    "Allowance",
    "ChartRow",
    "Figure",
    "Odd",
    "look_along",
    "odd_allowances",
    "odd_step",
    "places_of",
    "question_of_order",
]
