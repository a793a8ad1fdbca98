"""Sampling by attributes: pieces are good or bad, and the count decides (MIL-STD-105E, ISO 2859-1).

Complete for single and double plans: levels I to III and S-1 to S-4, letters A to R (and S), quality limits
(AQL) 0.010 to 1000, normal, tightened and reduced. The tables lie beside the code as files with their
source; the rule they follow is kept too and tested against them. Reduced plans are those of MIL-STD-105E
only. Small batches are badly served by these plans: look at the curve before choosing one.

    kinds        the words and what a plan is: SinglePlan, DoublePlan, Level, Severity, Edition
    rule         the diagonal rule that makes the table files
    tables       reading the files, following the arrows
    choosing     choose_plan: batch size, level, AQL and severity to a plan with notes in words
    classes      critical, major, minor: one sample, a decision each
    curtailment  running_decision: whether the rest of a sample can still change the decision
"""

from inventory.calc.sampling.attributes.choosing import Choice, choose_plan, code_letter, next_tighter
from inventory.calc.sampling.attributes.classes import (
    ClassPlans,
    ClassVerdict,
    judge_by_place,
    judge_classes,
    plan_classes,
)
from inventory.calc.sampling.attributes.curtailment import Decision, Running, running_decision
from inventory.calc.sampling.attributes.kinds import (
    DefectClass,
    DoublePlan,
    Edition,
    Level,
    Plan,
    Severity,
    SinglePlan,
)
from inventory.calc.sampling.attributes.tables import aqls

__all__ = [
    "Choice",
    "ClassPlans",
    "ClassVerdict",
    "Decision",
    "DefectClass",
    "DoublePlan",
    "Edition",
    "Level",
    "Plan",
    "Running",
    "Severity",
    "SinglePlan",
    "aqls",
    "choose_plan",
    "code_letter",
    "judge_by_place",
    "judge_classes",
    "next_tighter",
    "plan_classes",
    "running_decision",
]
