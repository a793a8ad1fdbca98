"""Judge points, pieces and whole batches against their plans.

``piece`` goes a value at a time, ``many`` through arrays of pieces of one size; both give the same
findings.
"""

from inventory.calc.judging.arrays import NO_VERDICT_CODE, ManyFindings, ManyJudged, verdict_of
from inventory.calc.judging.findings import Finding, PieceJudgement, Taken
from inventory.calc.judging.many import ReadBy, judge_many
from inventory.calc.judging.piece import judge_piece, judge_point
from inventory.calc.judging.sureness import Sureness, sureness_of
from inventory.calc.plan import Aspect, PointPlan

__all__ = [
    "NO_VERDICT_CODE",
    "Aspect",
    "Finding",
    "ManyFindings",
    "ManyJudged",
    "PieceJudgement",
    "PointPlan",
    "ReadBy",
    "Sureness",
    "Taken",
    "judge_many",
    "judge_piece",
    "judge_point",
    "sureness_of",
    "verdict_of",
]
