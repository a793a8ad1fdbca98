"""What a batch looks like when nothing is the matter: a Gaussian in closed form, all lengths in mm.

One reading is the sum of what the maker's hands did to this side of this point of this piece, how large the
whole piece came out (girths only), how this batch came out at this point, who read it, and the reading
itself. All but the last two grow with the maker's spread, which is not known: it is tried at a few sizes,
each as likely as the next, and averaged over. The shares are common practice, no source.

The covariance is V = E + U U'. E has one block a piece: its cells, each a small block of its own, and the
size of the whole piece, which is one more rank; U is thin (points, people). So V⁻¹ is never written out: it
is a few sums over rows that lie side by side (Sherman-Morrison, twice) less A A' (Woodbury). Y may hold many
batches of the same layout, one a column.
"""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from inventory.calc.causes.layout import Floats, Ints, Layout

SPREADS: Final = (0.5, 0.8, 1.25, 2.0)
"""Sizes of the maker's spread tried, as multiples of what is usual at the point."""

PIECE_SHARE: Final = 0.4
"""How much whole pieces differ, as a multiple of the maker's spread."""

POINT_SHARE: Final = 0.35
"""How far a point lies off in all pieces of a batch, as a multiple of the maker's spread."""

COMMON_TO_POINTS: Final = 0.25
"""Share of the variance between people that is the same at every point they read."""


@dataclass(frozen=True, slots=True)
class Background:
    """The covariance (mm²) at one size of spread, ready to be solved with.

    ``noise``: variance of each reading. ``made``: that of each cell. ``size``: SD of the whole piece at each
    reading. ``shared``: U. ``cell_shrink``, ``block_shrink``: what Sherman-Morrison takes off each cell and
    each block; ``whole``: the size, solved with its cells (n). ``thin``: A.
    """

    cell: Ints
    cell_start: Ints
    block: Ints
    block_start: Ints
    noise: Floats
    made: Floats
    size: Floats
    shared: Floats
    cell_shrink: Floats
    whole: Floats
    block_shrink: Floats
    thin: Floats
    log_size: float

    def in_blocks(self, columns: Floats) -> Floats:
        """E⁻¹ applied to columns (n x m)."""
        solved = _in_cells(columns, self)
        sums = np.add.reduceat(self.whole[:, None] * columns, self.block_start, axis=0)
        solved -= self.whole[:, None] * (self.block_shrink[:, None] * sums)[self.block]
        return solved

    def solved(self, columns: Floats) -> Floats:
        """V⁻¹ applied to columns (n x m)."""
        less: Floats = self.thin @ (self.thin.T @ columns)
        return self.in_blocks(columns) - less

    def variance_of(self, averages: Floats) -> Floats:
        """Variance (mm²) of weighted sums of the readings, weights one column each (n x m), by V itself."""
        own = self.noise @ averages**2
        in_cells = self.made @ np.add.reduceat(averages, self.cell_start, axis=0) ** 2
        in_blocks = np.add.reduceat(self.size[:, None] * averages, self.block_start, axis=0) ** 2
        total: Floats = own + in_cells + in_blocks.sum(axis=0) + ((self.shared.T @ averages) ** 2).sum(axis=0)
        return total

    def log_density(self, columns: Floats, solved: Floats) -> Floats:
        """Natural log of the Gaussian density of each column (m), given V⁻¹ applied to it."""
        rows = len(self.noise)
        spread: Floats = np.einsum("nm,nm->m", columns, solved)
        density: Floats = -0.5 * (rows * np.log(2 * np.pi) + self.log_size + spread)
        return density


def background(layout: Layout, *, spread: float, growth: float = 0.0) -> Background:
    """The covariance at one size of the maker's spread.

    `growth`: the spread of hands at the end of a bundle is 1 + growth times that at its beginning.
    """
    noise = layout.repeat**2
    hands = spread * layout.spread
    made = (hands * (1 + growth * np.nan_to_num(layout.in_bundle)))[layout.cell_start] ** 2
    per_cell = np.add.reduceat(1 / noise, layout.cell_start)
    size, pattern = PIECE_SHARE * hands * layout.girth, _thin_part(layout, spread)
    nothing = np.zeros(layout.rows)
    cells = Background(
        cell=layout.cell,
        cell_start=layout.cell_start,
        block=layout.block,
        block_start=layout.block_start,
        noise=noise,
        made=made,
        size=size,
        shared=pattern,
        cell_shrink=made / (1 + made * per_cell),
        whole=nothing,
        block_shrink=nothing[layout.block_start],
        thin=nothing[:, None],
        log_size=0.0,
    )
    whole = _in_cells(size[:, None], cells)[:, 0]
    per_block = np.add.reduceat(whole * size, layout.block_start)
    blocks = replace(cells, whole=whole, block_shrink=1 / (1 + per_block))
    weighted = blocks.in_blocks(pattern)
    corner = np.linalg.cholesky(np.eye(pattern.shape[1]) + pattern.T @ weighted)
    log_size = np.log(noise).sum() + np.log1p(made * per_cell).sum() + np.log1p(per_block).sum()
    return replace(
        blocks,
        thin=weighted @ np.linalg.inv(corner).T,
        log_size=float(log_size + 2 * np.log(np.diag(corner)).sum()),
    )


def _in_cells(columns: Floats, behind: Background) -> Floats:
    noise, shrink = behind.noise, behind.cell_shrink
    if len(shrink) == len(noise):  # one reading a cell, as usual: nothing to add up
        alone: Floats = columns * ((1 - shrink / noise) / noise)[:, None]
        return alone
    weighted = columns / noise[:, None]
    sums = np.add.reduceat(weighted, behind.cell_start, axis=0)
    weighted -= (shrink[:, None] * sums)[behind.cell] / noise[:, None]
    return weighted


def _thin_part(layout: Layout, spread: float) -> Floats:
    """U (n x k), each column one SD of what it stands for: points, people, and people at points."""
    people, points = len(layout.people), len(layout.batch.points)
    at_point = layout.person + people * layout.point
    off = POINT_SHARE * spread * layout.spread
    common = np.sqrt(COMMON_TO_POINTS) * layout.between_people
    apart = np.sqrt(1 - COMMON_TO_POINTS) * layout.between_people
    if people == 1:
        parts = [_by(layout.point, points, np.hypot(off, apart)), _by(layout.person, people, common)]
    else:
        parts = [
            _by(layout.point, points, off),
            _by(layout.person, people, common),
            _by(at_point, people * points, apart),
        ]
    pattern = np.concatenate(parts, axis=1) * layout.inside[:, None]
    return pattern[:, (pattern != 0).any(axis=0)]


def _by(holder: Ints, count: int, sd: Floats) -> Floats:
    """One column a holder: the SD where the row is its own, 0 elsewhere."""
    out = np.zeros((len(holder), count))
    rows = np.flatnonzero((holder >= 0) & (holder < count))
    out[rows, holder[rows]] = sd[rows]
    return out
