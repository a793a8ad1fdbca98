"""Sampling by variables: a batch judged from how one point is spread, not from how many pieces are out.

Mean and spread of a few readings say more than a count: where the mean lies 1.65 spreads inside the limit,
about 5 % lie beyond it, though perhaps none of the ten measured did. So fewer pieces decide as surely. The
price: it holds only where the point is spread like a bell, for one point at a time, and it may refuse a
batch of which no measured piece was out. MIL-STD-414 and its descendants (ANSI/ASQ Z1.9, ISO 3951).

With Q the distance of the mean from a limit in spreads: form k accepts when Q is at least k (one limit
only); form M estimates the share beyond each limit and accepts when together they are at most M. For one
limit the two agree, in the printed table up to its rounding. The spread is the sample's own (``s``) or known
beforehand (``sigma``).

Reading error widens the measured spread and, where it is common to all readings of a sitting, shifts the
mean. Taken as measured, the judgement is strict on the maker. So a refusal must also hold with the error
taken out of the spread and the mean shifted in the maker's favour, an acceptance with it shifted against;
between the two the batch is too close to call.

The formulas suppose a batch much larger than the sample; small batches are better measured whole.

    shares     estimated share beyond a limit; M from k and back
    table      plans of MIL-STD-414 by batch size and AQL, spread unknown
    risk       operating curve; the smallest plan for two stated risks
    question   limits and a plan, asked of any mean and spread; reading error
    judging    readings to a verdict
    normality  whether the readings are spread like a bell
"""

from inventory.calc.sampling.variables.judging import Judged, VariablesVerdict, judge
from inventory.calc.sampling.variables.normality import BellCheck, bell_check
from inventory.calc.sampling.variables.question import NO_ERROR, Form, ReadingError
from inventory.calc.sampling.variables.risk import Risks, acceptance, curve, plan_by_risk
from inventory.calc.sampling.variables.shares import Spread, VariablesPlan, k_from_m, m_from_k, share_beyond
from inventory.calc.sampling.variables.table import (
    AQLS,
    Level,
    Severity,
    letter_for,
    plan_for,
    plan_of_letter,
)

__all__ = [
    "AQLS",
    "NO_ERROR",
    "BellCheck",
    "Form",
    "Judged",
    "Level",
    "ReadingError",
    "Risks",
    "Severity",
    "Spread",
    "VariablesPlan",
    "VariablesVerdict",
    "acceptance",
    "bell_check",
    "curve",
    "judge",
    "k_from_m",
    "letter_for",
    "m_from_k",
    "plan_by_risk",
    "plan_for",
    "plan_of_letter",
    "share_beyond",
]
