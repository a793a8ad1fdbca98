"""Confidence limits on the number of bad pieces: the numbers that the sample does not contradict.

Among the pieces left, when calls can be wrong, two things are unknown: how many of the inspected are truly
bad, and how many of the rest. Half of the allowed doubt is spent on the batch and half on the sample, and
no more are said to be left than in the whole batch. These limits are cautious: they hold at least as often as
stated, which the tests enumerate for small batches. With calls that are never wrong they are the batch's
limits less the number found.

A draw spread over strata takes small ones more often than their share: were those the bad ones, limits for an
even draw would name far too many. Then every bad piece is taken to have been drawn with the highest chance
of any (for the least number; the lowest for the most), and their number to be binomial, which is wider
(Hoeffding 1956; from memory).
"""

from dataclasses import dataclass
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.remaining.called import (
    Called,
    Floats,
    called_given_bad,
    truly_bad,
    truly_bad_of_spread,
)
from inventory.calc.sampling.remaining.sample import Sample
from inventory.calc.sampling.seeking import first_that

LOWEST_CONFIDENCE = 0.5
HIGHEST_CONFIDENCE = 0.999_999

TIE = 1e-9
"""A chance this near (as a share of it) to the allowed one counts as equal to it: exact ties do occur."""


class Sides(StrEnum):
    """Which limits are wanted; a one-sided limit has all the doubt on its side."""

    BOTH = "both"
    AT_LEAST = "at least"
    AT_MOST = "at most"


@dataclass(frozen=True, slots=True)
class Range:
    """A number of pieces, from least to most."""

    least: int
    most: int


@dataclass(frozen=True, slots=True)
class BadLimits:
    """Limits on the truly bad pieces of the batch, and on those among the pieces left.

    ``rates_fit`` is false when no number of bad pieces explains the sample at the stated rates of wrong
    calls: then the rates are wrong, and the limits are only the nearest possible number.
    """

    sample: Sample
    confidence: float
    sides: Sides
    in_batch: Range
    among_left: Range
    rates_fit: bool


def limits_of_bad(sample: Sample, *, confidence: float = 0.95, sides: Sides = Sides.BOTH) -> BadLimits:
    """Exact limits (whole pieces) on the bad pieces in the batch and among those left.

    Hypergeometric test inversion (Konijn 1973; Buonaccorsi 1987); with wrong calls the chance of the number
    called bad is the mixture over the truly bad in the sample. Raises `ImpossibleInput` for a confidence
    outside 50 % to 99.9999 %.

    >>> limits_of_bad(Sample(500, inspected=50, bad=0)).in_batch
    Range(least=0, most=33)

    None bad among 50 of 500: at 95 % confidence the batch may still hold up to 33 bad ones.
    """
    if not LOWEST_CONFIDENCE <= confidence <= HIGHEST_CONFIDENCE:
        raise ImpossibleInput(
            "confidence", f"{confidence:g}", "Give a share from 0.5 to 0.999999, such as 0.95"
        )
    doubt = 1.0 - confidence
    called = called_given_bad(sample)
    in_batch, fits = _in_batch(sample, called, doubt, sides)
    if sample.rates.never_wrong:
        left = Range(in_batch.least - sample.bad, in_batch.most - sample.bad)
    else:
        left = _cautiously_left(sample, called, doubt, sides)
        left = Range(left.least, min(left.most, in_batch.most))
    if sides is Sides.AT_LEAST:
        in_batch, left = Range(in_batch.least, sample.batch_size), Range(left.least, sample.left)
    elif sides is Sides.AT_MOST:
        in_batch, left = Range(0, in_batch.most), Range(0, left.most)
    return BadLimits(sample, confidence, sides, in_batch, left, fits)


def _in_batch(sample: Sample, called: Called, doubt: float, sides: Sides) -> tuple[Range, bool]:
    allowed = doubt / 2 if sides is Sides.BOTH else doubt
    everything = sample.batch_size
    least = first_that(
        lambda bad: _likely(_chance(sample, bad, called.at_least, most=True), allowed),
        at_least=0,
        below=everything + 1,
    )
    most = (
        first_that(
            lambda bad: not _likely(_chance(sample, bad, called.at_most, most=False), allowed),
            at_least=0,
            below=everything + 1,
        )
        - 1
    )
    fits = least <= everything and most >= 0
    return Range(min(least, everything), max(most, 0)), fits


def _cautiously_left(sample: Sample, called: Called, doubt: float, sides: Sides) -> Range:
    batch, _ = _in_batch(sample, called, doubt / 2, sides)
    allowed = doubt / 4 if sides is Sides.BOTH else doubt / 2
    truly = _truly_in_sample(called, allowed)
    least = min(max(batch.least - truly.most, 0), sample.left)
    return Range(least, min(max(batch.most - truly.least, 0), sample.left))


def _truly_in_sample(called: Called, allowed: float) -> Range:
    inspected = called.at_most.size - 1
    least = first_that(
        lambda bad: _likely(float(called.at_least[bad]), allowed), at_least=0, below=inspected + 1
    )
    above = first_that(
        lambda bad: not _likely(float(called.at_most[bad]), allowed), at_least=0, below=inspected + 1
    )
    return Range(min(least, inspected), max(above - 1, 0))


def _chance(sample: Sample, bad: int, given_truly_bad: Floats, *, most: bool) -> float:
    """Of so many called; of a spread draw as if the bad pieces had been the likeliest drawn, or the least."""
    if sample.chances is None:
        drawn = truly_bad(sample.batch_size, bad, sample.inspected)
    else:
        drawn = truly_bad_of_spread(bad, sample.inspected, chance=sample.chances[most])
    return float(drawn @ given_truly_bad)


def _likely(chance: float, allowed: float) -> bool:
    return chance > allowed * (1.0 + TIE)
