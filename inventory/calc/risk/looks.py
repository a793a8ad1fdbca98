"""What "too close to call: measure again" does to the stated risk.

A guard band of r·u promises that a piece just at its limit is called wrongly by at most Φ(−r) of single
looks. Looking again while it is close, and stopping as soon as it is clear, gives chance another go at each
look: the risk adds up (Armitage, McPherson and Rowe 1969, who showed it for repeated tests; from memory).
The person part is the same at each look and damps this. Worked out by integrating the sum of the repeat
errors from look to look, with the piece just at one limit and the other far away.
"""

import math

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from inventory.calc.errors import ImpossibleInput

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)
_HABITS, _HABIT_WEIGHTS = np.polynomial.hermite_e.hermegauss(48)


def risk_of_looking_again(multiplier: float, *, looks: int, person_share: float = 0.0) -> float:
    """Share of pieces just at a limit called wrongly when up to ``looks`` readings of one person are taken.

    ``multiplier``: guard band in standard uncertainties of the mean so far. ``person_share``: the person SD
    as a multiple of the repeat SD. The mean of all readings so far is judged after each; clear ones stop.

    >>> round(risk_of_looking_again(2.0, looks=1), 4), round(risk_of_looking_again(2.0, looks=4), 4)
    (0.0228, 0.0579)
    """
    if looks < 1:
        raise ImpossibleInput("number of looks", looks, "Give at least one")
    if not (0 <= person_share < math.inf and 0 <= multiplier < math.inf):
        fault = f"{multiplier} and {person_share}"
        raise ImpossibleInput("multiplier or person share", fault, "Give zero or more")
    if person_share == 0:
        return _risk_given(multiplier, looks, habit=0.0, person_share=0.0)
    risks = [_risk_given(multiplier, looks, habit * person_share, person_share) for habit in _HABITS]
    return float(_HABIT_WEIGHTS @ risks / math.sqrt(2 * math.pi))


def multiplier_for_looks(risk: float, *, looks: int, person_share: float = 0.0) -> float:
    """The guard band, in standard uncertainties, that keeps the risk over all looks together.

    >>> round(multiplier_for_looks(0.02275, looks=1), 3), round(multiplier_for_looks(0.02275, looks=4), 3)
    (2.0, 2.399)
    """
    if not 0 < risk < 0.5:
        raise ImpossibleInput("risk", risk, "Give a share above 0 and below 0.5, such as 0.05")
    least = -float(ndtri(risk))
    return float(
        brentq(
            lambda r: risk_of_looking_again(r, looks=looks, person_share=person_share) - risk,
            least - 0.01,
            least + 3,
            xtol=1e-9,
        )
    )


def risk_of_piece(multiplier: float, *, looks: int, findings: int, person_share: float = 0.0) -> float:
    """At most this share of pieces in tolerance is called out by any of ``findings`` values that decide.

    The worst case, all of them just at a limit. Their errors may go together or not: the chances are added
    (Bonferroni), which is never too few.

    >>> round(risk_of_piece(2.0, looks=4, findings=1), 3), round(risk_of_piece(2.0, looks=4, findings=10), 3)
    (0.058, 0.579)
    """
    _check_findings(findings)
    return min(1.0, findings * risk_of_looking_again(multiplier, looks=looks, person_share=person_share))


def multiplier_for_piece(risk: float, *, looks: int, findings: int, person_share: float = 0.0) -> float:
    """The guard band, in standard uncertainties, that keeps the risk for a whole piece.

    >>> round(multiplier_for_piece(0.02275, looks=4, findings=10), 3)
    3.185
    """
    _check_findings(findings)
    return multiplier_for_looks(risk / findings, looks=looks, person_share=person_share)


def _check_findings(findings: int) -> None:
    if findings < 1:
        raise ImpossibleInput("number of values that decide", findings, "Give at least one")


def _risk_given(multiplier: float, looks: int, habit: float, person_share: float) -> float:
    """The same with the person's habit known, in repeat SDs; out is the upper side."""
    wrong = 0.0
    places, weights = np.array([0.0]), np.array([1.0])  # the sum of repeat errors before the first look
    for look in range(1, looks + 1):
        reach = multiplier * math.sqrt(1 / look + person_share**2)
        low, high = look * (-reach - habit), look * (reach - habit)
        wrong += float(weights @ ndtr(places - high))
        after = low + (high - low) * (_NODES + 1) / 2
        steps = np.exp(-((after[:, None] - places) ** 2) / 2) / math.sqrt(2 * math.pi)
        weights = (steps @ weights) * _WEIGHTS * (high - low) / 2
        places = after
    return wrong
