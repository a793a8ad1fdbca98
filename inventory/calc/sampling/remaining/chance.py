"""The chance that a batch meets the agreed quality, believing beforehand that any number may be bad."""

from dataclasses import dataclass

import numpy as np

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.remaining.called import Floats, called_given_bad, truly_bad
from inventory.calc.sampling.remaining.sample import Sample

PRIOR = "every number of bad pieces, from none to all, equally likely beforehand"
"""The belief the chance starts from, in words; it belongs beside every such chance."""


@dataclass(frozen=True, slots=True)
class Chance:
    """Chance that at most ``most_bad`` pieces of the batch are truly bad, and the same before the sample."""

    sample: Sample
    most_bad: int
    chance: float
    beforehand: float


def chance_within(sample: Sample, *, most_bad: int) -> Chance:
    """How likely at most ``most_bad`` pieces of the whole batch are truly bad, given the sample.

    Bayes with the uniform belief of `PRIOR`. Then any number of truly bad pieces in the sample is equally
    likely beforehand too, and given that number the bad ones left are beta-binomial; their distribution is
    a hypergeometric tail with one piece more everywhere, so the sum is exact.

    >>> round(chance_within(Sample(80, inspected=13, bad=0), most_bad=2).chance, 3)
    0.439

    None bad among 13 of 80: it is still more likely than not that over 2 of the 80 are.
    """
    if not 0 <= most_bad <= sample.batch_size:
        raise ImpossibleInput(
            "agreed number of bad pieces",
            f"{most_bad}, of a batch of {sample.batch_size}",
            "Give a number from 0 to the batch size",
        )
    beforehand = (most_bad + 1) / (sample.batch_size + 1)
    weights = called_given_bad(sample).exactly
    if not weights.sum() > 0.0:
        raise ImpossibleInput(
            "number of bad pieces",
            f"{sample.bad} of {sample.inspected}, which the stated rates of wrong calls make impossible",
            "Check the rates",
        )
    within = _within_given_truly_bad(sample, most_bad)
    chance = float(weights @ within) / float(weights.sum())
    return Chance(sample, most_bad, min(max(chance, 0.0), 1.0), beforehand)


def _within_given_truly_bad(sample: Sample, most_bad: int) -> Floats:
    """For 0 … inspected truly bad in the sample, the chance of at most ``most_bad`` in the batch.

    With a uniform belief the bad ones of the batch lie as if one more piece were put in at random and the
    pieces ranked: at most D bad, given y in the sample, exactly when more than y of the first D + 1 ranks
    of batch + 1 fall into sample + 1.
    """
    chances = truly_bad(sample.batch_size + 1, most_bad + 1, sample.inspected + 1)
    tails = np.cumsum(chances[::-1])[::-1]
    return np.minimum(tails[1:], 1.0)
