"""Chances of the number of pieces called bad, by the number that truly are.

An error that is in every reading alike (a habit of the hands, the tape) is first taken as known, which
changes the two chances of a wrong call for all pieces together; then its bell curve is summed over.

Factorials of the binomial chances are taken from one table of logarithms: right to eleven digits for a sample
of 5,000, to nine for the largest we allow.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, ndtr, ndtri

from inventory.calc.sampling.curves.course import hypergeometric
from inventory.calc.sampling.remaining.sample import Sample

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

CELLS_AT_ONCE = 1_000_000
"""Cells of the mixture worked at one time: some 50 MB at most, whatever the batch."""

HABITS = np.linspace(-6.0, 6.0, 121)
"""The error in common, in its standard deviations: a smooth sum over them is right far below a promille."""

MOST_SHARED = 0.995
"""An error in common leaves a little to the single reading, so that the sum above stays smooth."""


@lru_cache(maxsize=4)
def log_factorials(most: int) -> Floats:
    """log 0! … log most!, one read-only table."""
    table: Floats = gammaln(np.arange(most + 1, dtype=np.float64) + 1.0)
    table.setflags(write=False)
    return table


def truly_bad(batch_size: int, bad: int, inspected: int) -> Floats:
    """Chances of 0 … inspected truly bad pieces in a random sample, from a batch with ``bad`` of them.

    >>> [round(float(share), 4) for share in truly_bad(10, 3, 2)]
    [0.4667, 0.4667, 0.0667]
    """
    chances = np.zeros(inspected + 1)
    possible = hypergeometric(batch_size, np.array([bad]), inspected)[0]
    chances[: possible.size] = possible
    return chances


def truly_bad_of_spread(bad: int, inspected: int, *, chance: float) -> Floats:
    """Chances of 0 … inspected truly bad pieces in the sample, each of ``bad`` drawn with this chance.

    >>> [round(float(share), 4) for share in truly_bad_of_spread(3, 2, chance=0.5)]
    [0.125, 0.375, 0.5]
    """
    chances: Floats = binomials(np.array([bad]), np.arange(inspected + 1), chance)[0]
    chances[-1] += max(0.0, 1.0 - float(chances.sum()))
    return chances


def binomials(trials: Whole, hits: Whole, share: float) -> Floats:
    """Chances of each number of hits (columns) in each number of trials (rows)."""
    rows, columns = trials[:, None], hits[None, :]
    possible = columns <= rows
    if share == 0.0:
        return np.asarray(columns == 0, dtype=np.float64) * np.ones_like(rows)
    if share == 1.0:
        return np.asarray(columns == rows, dtype=np.float64)
    log_f = log_factorials(int(max(trials.max(initial=0), hits.max(initial=0))))
    misses = np.where(possible, rows - columns, 0)
    logs = log_f[rows] - log_f[columns] - log_f[misses] + columns * np.log(share) + misses * np.log1p(-share)
    return np.where(possible, np.exp(logs), 0.0)


@dataclass(frozen=True, slots=True)
class Called:
    """For 0 … inspected truly bad pieces in the sample: chance of exactly, at most, at least those called."""

    exactly: Floats
    at_most: Floats
    at_least: Floats


def called_given_bad(sample: Sample) -> Called:
    """How likely the number called bad is, for each number of truly bad pieces in the sample."""
    rates = sample.rates
    if rates.never_wrong:
        truly = np.arange(sample.inspected + 1, dtype=np.int64)
        return Called(
            exactly=(truly == sample.bad).astype(np.float64),
            at_most=(truly <= sample.bad).astype(np.float64),
            at_least=(truly >= sample.bad).astype(np.float64),
        )
    exactly, at_most = (
        _in_heaps(sample) if rates.shared else _alone(sample, rates.false_bad, rates.false_good)
    )
    return Called(exactly, at_most, np.clip(1.0 - (at_most - exactly), 0.0, 1.0))


def _in_heaps(sample: Sample) -> tuple[Floats, Floats]:
    """Where an error in common makes wrong calls go together: the mean over that error."""
    chances = np.exp(-(HABITS**2) / 2)
    shared = min(sample.rates.shared, MOST_SHARED)
    # What pushes good pieces out at a limit keeps bad ones there from being missed.
    false_bad, false_good = (
        ndtr((way * np.sqrt(shared) * HABITS + ndtri(rate)) / np.sqrt(1.0 - shared))
        for way, rate in ((1.0, sample.rates.false_bad), (-1.0, sample.rates.false_good))
    )
    exactly, at_most = np.zeros((2, sample.inspected + 1))
    for chance, bad, good in zip(chances / chances.sum(), false_bad, false_good, strict=True):
        one = _alone(sample, float(bad), float(good))
        exactly, at_most = exactly + chance * one[0], at_most + chance * one[1]
    return exactly, np.minimum(at_most, 1.0)


def _alone(sample: Sample, false_bad: float, false_good: float) -> tuple[Floats, Floats]:
    """Where every call is wrong by itself: exactly, and at most, those called."""
    truly = np.arange(sample.inspected + 1, dtype=np.int64)
    block = max(1, CELLS_AT_ONCE // (sample.bad + 1))
    parts = [
        _mixed(sample, truly[start : start + block], false_bad, false_good)
        for start in range(0, truly.size, block)
    ]
    exactly, at_most = (np.concatenate(column) for column in zip(*parts, strict=True))
    return exactly, at_most


def _mixed(sample: Sample, truly: Whole, false_bad: float, false_good: float) -> tuple[Floats, Floats]:
    """Caught among the truly bad plus wrongly called among the good: exactly, and at most, those called."""
    counts = np.arange(sample.bad + 1, dtype=np.int64)
    caught = binomials(truly, counts, 1.0 - false_good)
    wrongly = binomials(sample.inspected - truly, counts, false_bad)
    exactly = (caught * wrongly[:, ::-1]).sum(axis=1)
    at_most = (caught * np.cumsum(wrongly, axis=1)[:, ::-1]).sum(axis=1)
    return exactly, np.minimum(at_most, 1.0)
