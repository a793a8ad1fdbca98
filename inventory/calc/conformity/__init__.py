"""From a value, its limits and its uncertainty to one of three verdicts.

``rules`` says how wide the guard band at a limit is and where that comes from; ``deciding`` applies it, to
one value or to many at once.
"""

from inventory.calc.conformity.deciding import (
    CLOSE_CODE,
    IN_CODE,
    OUT_CODE,
    VERDICT_OF_CODE,
    Codes,
    Decision,
    Lengths,
    Limits,
    Verdict,
    can_be_judged,
    code_of,
    decide,
    decide_many,
    probability_in,
    worst,
)
from inventory.calc.conformity.rules import (
    DEFAULT_CLAIM,
    DEFAULT_SHELF,
    GUARD_KINDS,
    AtTheEnd,
    GuardKind,
    Purpose,
    Rule,
    guard_factor,
    guard_nm,
    read_rule,
    rule_document,
)

__all__ = [
    "CLOSE_CODE",
    "DEFAULT_CLAIM",
    "DEFAULT_SHELF",
    "GUARD_KINDS",
    "IN_CODE",
    "OUT_CODE",
    "VERDICT_OF_CODE",
    "AtTheEnd",
    "Codes",
    "Decision",
    "GuardKind",
    "Lengths",
    "Limits",
    "Purpose",
    "Rule",
    "Verdict",
    "can_be_judged",
    "code_of",
    "decide",
    "decide_many",
    "guard_factor",
    "guard_nm",
    "probability_in",
    "read_rule",
    "rule_document",
    "worst",
]
