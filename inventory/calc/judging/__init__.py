"""Judge points, pieces and whole batches against their plans.

``piece`` goes a value at a time, ``many`` through arrays of pieces of one size; both give the same
findings.
"""

from inventory.calc.judging.findings import Finding, PieceJudgement, Taken
from inventory.calc.judging.piece import judge_piece, judge_point
from inventory.calc.plan import Aspect, PointPlan

__all__ = ["Aspect", "Finding", "PieceJudgement", "PointPlan", "Taken", "judge_piece", "judge_point"]
