"""The person-to-person study: how well our own hands agree with themselves and with each other.

Some pieces, all of them read by every person in every round, in a shuffled order and without sight of
earlier figures. What differs between rounds is *repeatability*; what differs between people beyond that is
*reproducibility*, made of a habit (the person) and of people disagreeing about single pieces (piece ×
person); what is left is the pieces themselves. The result for a point becomes the `ReadingError` its
verdicts are judged with from then on, with its degrees of freedom.

    plan          who reads which piece when, from a seed
    readings      readings -> a full table, or a refusal that names what is missing
    anova         the table -> mean squares, piece × person kept or pooled
    mean_squares  sums of mean squares: estimate, degrees of freedom, confidence limits
    analysis      readings -> study
    study         everything that is shown and kept of a study of one point
    outlying      readings too far from their piece and person
    size          what a study of some size could tell
    ranges        the older method of averages and ranges, for comparison
    range_factors d2, d3, d2* computed

A study of both sides counts each side of a piece as a piece of its own, for instance "12 L".
"""

from inventory.calc.gauge_study.analysis import analyse
from inventory.calc.gauge_study.anova import Anova, AnovaRow, two_way
from inventory.calc.gauge_study.outlying import Outlying, outlying
from inventory.calc.gauge_study.plan import StudyPlan, Turn, make_plan
from inventory.calc.gauge_study.ranges import RangeParts, average_range, parts_from_ranges
from inventory.calc.gauge_study.readings import StudyReading, Table, arrange
from inventory.calc.gauge_study.size import Told, expected_limits, people_told, repeats_told
from inventory.calc.gauge_study.study import Dot, Part, PersonMean, Study

__all__ = [
    "Anova",
    "AnovaRow",
    "Dot",
    "Outlying",
    "Part",
    "PersonMean",
    "RangeParts",
    "Study",
    "StudyPlan",
    "StudyReading",
    "Table",
    "Told",
    "Turn",
    "analyse",
    "arrange",
    "average_range",
    "expected_limits",
    "make_plan",
    "outlying",
    "parts_from_ranges",
    "people_told",
    "repeats_told",
    "two_way",
]
