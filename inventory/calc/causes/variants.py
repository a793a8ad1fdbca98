"""The ways one cause may show in a batch, and how well each explains it.

A variant says where a cause sits (this person, that piece and side) and what it would do there: a column x,
so that the deviations are y = x·β + background, with the effect β normal about what is usual for the cause.
Then the Bayes factor of the variant over "nothing", and what the readings say of β, are closed forms in
g = x'V⁻¹x and b = x'V⁻¹y (conjugate normal; any text on Bayesian linear models). Columns are held as the few
rows they touch.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from inventory.calc.causes.background import Background
from inventory.calc.causes.layout import Floats, Ints

SMALL: Final = 100_000
FULL_ENOUGH: Final = 8
"""Columns are written out if they are small together, or touch more than one row in this many."""


@dataclass(frozen=True, slots=True)
class Where:
    """Where a cause sits; an empty field means it does not matter or is all of them.

    ``size``: the label of the size it is about, "" too where that size is not in the batch. ``fits_size``: 1
    the next larger size fits, -1 the next smaller. ``since``: the order of the first reading it touches, None
    for all along.
    """

    pieces: tuple[str, ...] = ()
    side: str = ""
    codes: tuple[str, ...] = ()
    person: str = ""
    tape: str = ""
    size: str = ""
    fits_size: int = 0
    since: int | None = None


@dataclass(frozen=True, slots=True)
class Variant:
    """One way: where, its column over all rows, the usual effect and its SD, and how likely beside the rest.

    ``group``: variants of one group exclude one another where several may be at work together.
    """

    where: Where
    column: Floats
    weight: float = 1.0
    group: int = 0


@dataclass(frozen=True, slots=True)
class Prior:
    """What effect is usual for a cause: mean and SD, in the unit of its columns' factor."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Variants:
    """All variants of a cause, their columns one after the other (rows and values, from ``start`` on).

    ``where`` tells the place of one; ``written_out`` holds the columns in full (n x v) where that is quicker
    to multiply with.
    """

    where: Callable[[int], Where]
    rows: Ints
    values: Floats
    start: Ints
    log_weight: Floats
    group: Ints
    prior: Prior
    written_out: Floats | None

    def __len__(self) -> int:
        return len(self.start)

    def project(self, columns: Floats) -> Floats:
        """x'C of every variant (v x m) for columns C (n x m)."""
        if self.written_out is not None:
            products: Floats = self.written_out.T @ columns
            return products
        sums: Floats = np.add.reduceat(self.values[:, None] * columns[self.rows], self.start, axis=0)
        return sums

    def own(self, behind: Background) -> Floats:
        """g = x'V⁻¹x of every variant (v)."""
        weighted = self.values / behind.noise[self.rows]
        in_cells = self._squares(weighted, behind.cell, behind.cell_shrink)
        in_blocks = self._squares(self.values * behind.whole[self.rows], behind.block, behind.block_shrink)
        thin: Floats = (self.project(behind.thin) ** 2).sum(axis=1)
        return np.add.reduceat(weighted * self.values, self.start) - in_cells - in_blocks - thin

    def _squares(self, entries: Floats, number: Ints, shrink: Floats) -> Floats:
        """Of every variant: over its cells (or blocks), shrink times the square of the sum, added up."""
        number = number[self.rows]
        fresh = np.diff(number, prepend=-1) != 0
        fresh[self.start] = True
        breaks = np.flatnonzero(fresh)
        sums = np.add.reduceat(entries, breaks)
        squares: Floats = np.add.reduceat(
            shrink[number[breaks]] * sums**2, np.searchsorted(breaks, self.start)
        )
        return squares

    def columns(self, chosen: Ints, *, rows: int) -> Floats:
        """The columns of chosen variants, written out (n x c)."""
        out = np.zeros((rows, len(chosen)))
        ends = np.append(self.start[1:], len(self.rows))
        for place, which in enumerate(chosen):
            here = slice(self.start[which], ends[which])
            out[self.rows[here], place] = self.values[here]
        return out


def log_factor(g: Floats, b: Floats, prior: Prior) -> Floats:
    """Natural log of the Bayes factor over "nothing", from x'V⁻¹x and x'V⁻¹y.

    >>> bool(log_factor(np.array(0.0), np.array(0.0), Prior(0.0, 5.0)) == 0)
    True
    """
    precision = 1 / prior.sd**2
    pull = b + prior.mean * precision
    factor: Floats = 0.5 * (pull**2 / (g + precision) - prior.mean**2 * precision - np.log1p(prior.sd**2 * g))
    return factor


def gather(variants: Iterable[Variant], prior: Prior) -> Variants | None:
    """The variants that touch any reading, weights made to add up to one; None if there is none."""
    kept = [variant for variant in variants if np.any(variant.column)]
    if not kept:
        return None
    rows = [np.flatnonzero(variant.column) for variant in kept]
    return packed(
        where=[variant.where for variant in kept].__getitem__,
        rows=np.concatenate(rows),
        values=np.concatenate([variant.column[at] for variant, at in zip(kept, rows, strict=True)]),
        lengths=[len(at) for at in rows],
        weights=[variant.weight for variant in kept],
        groups=[variant.group for variant in kept],
        prior=prior,
        height=len(kept[0].column),
    )


def packed(
    *,
    where: Callable[[int], Where],
    rows: Ints,
    values: Floats,
    lengths: Sequence[int],
    weights: Sequence[float],
    groups: Sequence[int],
    prior: Prior,
    height: int,
) -> Variants:
    """Variants by the rows they touch and the values there, one variant after the other.

    `lengths`: how many rows each touches (ascending); `height`: how many there are in all. Weights need not
    add up.
    """
    weight = np.array(weights, dtype=float)
    written_out = None
    if len(lengths) * height <= max(SMALL, FULL_ENOUGH * len(rows)):
        written_out = np.zeros((height, len(lengths)))
        written_out[rows, np.repeat(np.arange(len(lengths)), lengths)] = values
    return Variants(
        where=where,
        rows=rows,
        values=values,
        start=np.concatenate([[0], np.cumsum(lengths)[:-1]]).astype(np.int64),
        log_weight=np.log(weight / weight.sum()),
        group=np.array(groups, dtype=np.int64),
        prior=prior,
        written_out=written_out,
    )
