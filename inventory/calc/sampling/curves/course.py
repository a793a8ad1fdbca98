"""The course a sample can take: how likely it accepts on the first or the second sample, and what leaves.

For the real batch the number of bad pieces in a sample is hypergeometric; for a long series of batches from
one maker it is binomial; when defects are counted, Poisson. Hypergeometric chances are built from the ratios
of neighbours and scaled to sum to 1, which keeps twelve digits at any batch size, where logarithms of
factorials would lose them.

Sources: Johnson, Kotz & Kemp, Univariate Discrete Distributions (from memory) for the ratios; MIL-STD-105E
for what accepting means. A batch in the gap of a reduced plan is accepted.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtr, pdtr

from inventory.calc.sampling.attributes import DoublePlan, Plan

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Course:
    """One value per quality: chances to accept on either sample and to draw the second, and what leaves.

    ``outgoing`` is the expected share of bad pieces after refused batches were inspected whole and every bad
    piece found was replaced.
    """

    accept_first: Floats
    accept_second: Floats
    second_drawn: Floats
    outgoing: Floats

    @property
    def passing(self) -> Floats:
        """Chance that the batch is accepted."""
        return self.accept_first + self.accept_second


def hypergeometric(batch_size: int, bad: Whole, size: int) -> Floats:
    """Chances of 0, 1, … bad pieces in a sample of ``size``: a row for each number of ``bad`` in the batch.

    Rows stop at the largest count any of them can show. ``bad`` is not empty.

    >>> hypergeometric(10, np.array([3]), 2).round(4).tolist()
    [[0.4667, 0.4667, 0.0667]]
    """
    column = bad.astype(np.float64)[:, None]
    counts = np.arange(min(size, int(bad.max())) + 1, dtype=np.float64)
    here, after = counts[:-1], counts[1:]
    up = (column - here) * (size - here)
    down = after * (batch_size - column - size + after)
    reachable = (up > 0) & (down > 0)
    steps = np.log(np.divide(up, down, out=np.ones_like(up), where=reachable))
    logs = np.concatenate([np.zeros_like(column), np.cumsum(steps, axis=1)], axis=1)
    possible = (counts >= size - (batch_size - column)) & (counts <= column)
    logs = np.where(possible, logs, -np.inf)
    weights: Floats = np.exp(logs - logs.max(axis=1, keepdims=True))
    weights /= weights.sum(axis=1, keepdims=True)
    return weights


def course_in_batch(plan: Plan, batch_size: int, bad: Whole) -> Course:
    """The exact course for batches of one size with so many ``bad`` pieces each."""
    chances = hypergeometric(batch_size, bad, plan.size)
    left = bad[:, None] - np.arange(chances.shape[1])
    last = _last_accepted(plan)
    accept = chances[:, : last + 1].sum(axis=1)
    leaving = (chances * left)[:, : last + 1].sum(axis=1)
    accept_second, drawn = np.zeros_like(accept), np.zeros_like(accept)
    if isinstance(plan, DoublePlan):
        for first in range(last + 1, min(plan.reject_first, chances.shape[1])):
            # Rows that cannot show so many first have a chance of 0; their left is only kept within reason.
            second_left = np.clip(bad - first, 0, batch_size - plan.size)
            second = hypergeometric(batch_size - plan.size, second_left, plan.size)
            kept = second[:, : plan.reject - first]
            still = second_left[:, None] - np.arange(kept.shape[1])
            drawn += chances[:, first]
            accept_second += chances[:, first] * kept.sum(axis=1)
            leaving += chances[:, first] * (kept * still).sum(axis=1)
    return Course(accept, accept_second, drawn, leaving / batch_size)


def course_of_series(plan: Plan, shares: Floats, batch_size: int | None, *, counts_defects: bool) -> Course:
    """The course for a series with these ``shares`` bad (or defects per piece): binomial, or Poisson.

    With a ``batch_size`` the bad pieces found in accepted samples are replaced too: (N − n)/N as usual.
    """
    last = _last_accepted(plan)
    accept = tail(plan.size, shares, last, counts_defects=counts_defects)
    accept_second, drawn = np.zeros_like(accept), np.zeros_like(accept)
    if isinstance(plan, DoublePlan):
        for first in range(last + 1, plan.reject_first):
            upto, below = (
                tail(plan.size, shares, count, counts_defects=counts_defects) for count in (first, first - 1)
            )
            rest = tail(plan.size, shares, plan.reject - 1 - first, counts_defects=counts_defects)
            drawn += upto - below
            accept_second += (upto - below) * rest
    seen = 0.0 if batch_size is None else plan.size / batch_size
    outgoing = shares * (accept * (1.0 - seen) + accept_second * (1.0 - 2.0 * seen))
    return Course(accept, accept_second, drawn, outgoing)


def tail(size: int, shares: Floats, count: int, *, counts_defects: bool) -> Floats:
    """Chance of at most ``count`` bad among ``size``: Poisson when defects are counted, else binomial."""
    if count < 0:
        return np.zeros_like(shares)
    if counts_defects:
        return np.asarray(pdtr(float(count), size * shares), dtype=np.float64)
    if count >= size:
        return np.ones_like(shares)
    return np.asarray(bdtr(float(count), size, shares), dtype=np.float64)


def _last_accepted(plan: Plan) -> int:
    """The largest count that accepts on the first sample."""
    return plan.accept_first if isinstance(plan, DoublePlan) else plan.reject - 1
