"""From evidence to an answer: the causes by probability, and whether one may be named.

Before any reading, "nothing in particular" is as likely as all causes together, and the causes that can be
looked for are equally likely. One is named only if the readings make it ten times as likely as "nothing" and
three times as likely as the next; "nothing" in turn is said only if it is three times as likely as the best
cause. All else is "cannot tell". These factors are ours (common practice, no source); the first is what the
literature on Bayes factors calls strong evidence (Jeffreys, Theory of Probability, appendix B, from memory).
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from scipy import special

from inventory.calc.causes.evidence import Evidence
from inventory.calc.causes.layout import Floats, Ints
from inventory.calc.causes.words import Cause

OVER_NOTHING: Final = 10.0
OVER_THE_NEXT: Final = 3.0


class Answer(StrEnum):
    """What may be said: a cause, nothing in particular, or that the readings do not tell."""

    CAUSE = "cause"
    NOTHING = "nothing"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class Ranked:
    """Probabilities (c x m), the causes of each batch from the likeliest down (c x m), the answers (m)."""

    probability: Floats
    order: Ints
    answers: tuple[Answer, ...]


def rank(evidence: Evidence) -> Ranked:
    """Probabilities of every cause, and the answer, for each of m batches."""
    causes = evidence.causes
    named = np.array([cause is not Cause.NOTHING for cause in causes])
    log_prior = np.where(named, np.log(0.5) - np.log(max(named.sum(), 1)), np.log(0.5))
    joint = evidence.log_likelihood + log_prior[:, None]
    log_probability = joint - special.logsumexp(joint, axis=0)
    order = np.argsort(-log_probability, axis=0, kind="stable")
    answers = tuple(
        _answer([causes[place] for place in column], log_probability[column, batch])
        for batch, column in enumerate(order.T)
    )
    return Ranked(np.exp(log_probability), order, answers)


def _answer(causes: list[Cause], log_probability: Floats) -> Answer:
    """The answer for one batch: causes and log probabilities, the likeliest first."""
    if len(causes) == 1:
        return Answer.NOTHING
    lead = log_probability[0] - log_probability[1]
    if causes[0] is Cause.NOTHING:
        return Answer.NOTHING if lead >= np.log(OVER_THE_NEXT) else Answer.CANNOT_TELL
    over_nothing = log_probability[0] - log_probability[causes.index(Cause.NOTHING)]
    clear = lead >= np.log(OVER_THE_NEXT) and over_nothing >= np.log(OVER_NOTHING)
    return Answer.CAUSE if clear else Answer.CANNOT_TELL
