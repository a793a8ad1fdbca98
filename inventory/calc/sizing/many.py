"""The size of many pieces with the same label: the answers of ``piece`` through arrays.

The labelled size is tried on all pieces; the other sizes only on those it does not fit, usually few.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inventory.calc.conformity import Lengths, Limits
from inventory.calc.errors import ImpossibleInput
from inventory.calc.plan import PointPlan
from inventory.calc.sizing.piece import Cell, Grid, SizeAnswer, plans_of

Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int16]

_ASPECTS = ("L", "R", "S", "F")
_NOT_COMPARED = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True, eq=False)
class ManySizes:
    """``SizeAnswer`` for many pieces. ``size`` and ``tightest`` are positions in ``sizes`` and ``cells``,
    -1 where none; the margin (nm) has a meaning only where there is a size. A piece with ``compared`` 0
    has no answer."""

    sizes: tuple[str, ...]
    cells: tuple[Cell, ...]
    labelled_fits: Flags
    suspected: Flags
    size: Places
    margin_nm: Lengths
    tightest: Places
    compared: Places

    def piece(self, piece: int) -> SizeAnswer | None:
        """The answer for one piece (by its row), or None when nothing could be compared."""
        if not self.compared[piece]:
            return None
        found = int(self.size[piece])
        return SizeAnswer(
            labelled_fits=bool(self.labelled_fits[piece]),
            suspected=bool(self.suspected[piece]),
            size=self.sizes[found] if found >= 0 else None,
            margin_nm=int(self.margin_nm[piece]) if found >= 0 else None,
            tightest=self.cells[self.tightest[piece]] if found >= 0 else None,
            compared=int(self.compared[piece]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """Mean readings (nm) of some pieces, by cell."""

    at: Mapping[Cell, int]
    means_nm: Lengths
    present: Flags

    def column(self, cell: Cell) -> tuple[Lengths, Flags]:
        if cell not in self.at:
            return np.zeros(len(self.means_nm), np.int64), np.zeros(len(self.means_nm), np.bool_)
        return self.means_nm[:, self.at[cell]], self.present[:, self.at[cell]]

    def rows(self, chosen: npt.NDArray[np.intp]) -> "_Table":
        return _Table(self.at, self.means_nm[chosen], self.present[chosen])


def fit_sizes_many(
    columns: Sequence[Cell], means_nm: Lengths, present: Flags, grid: Grid, *, labelled: str
) -> ManySizes:
    """Name the size each row of ``means_nm`` (int64 nm, pieces × ``columns``) fits; see ``fit_sizes``.

    Cells that are not ``present`` may hold anything. Raises ImpossibleInput for an unknown label or for
    tables whose shapes do not fit.
    """
    label = plans_of(labelled, grid)
    if means_nm.ndim != 2 or means_nm.shape != present.shape or means_nm.shape[1] != len(columns):
        raise ImpossibleInput(
            "table of means", f"of shape {means_nm.shape}", f"Give pieces × {len(columns)} columns"
        )
    sizes = tuple(grid)
    table = _Table({cell: at for at, cell in enumerate(columns)}, np.where(present, means_nm, 0), present)
    own = sizes.index(labelled)
    margin_nm, tightest, _ = _tightest(table, label, label)
    compared = np.zeros(len(means_nm), np.int16)
    for plan in label.values():
        for side in plan.sides:
            compared += table.column((plan.code, side))[1]
    fits = (margin_nm >= 0) & (compared > 0)
    size = np.where(fits, own, -1).astype(np.int16)
    doubtful = np.flatnonzero(~fits & (compared > 0))
    some = table.rows(doubtful)
    for place, plans in enumerate(grid.values()):
        if place == own:
            continue
        tried_nm, where, comparable = _tightest(some, plans, label)
        better = comparable & (tried_nm > margin_nm[doubtful])
        rows = doubtful[better]
        margin_nm[rows], tightest[rows], size[rows] = tried_nm[better], where[better], place
    size[margin_nm < 0] = -1
    return ManySizes(
        sizes=sizes,
        cells=tuple((code, aspect) for code in label for aspect in _ASPECTS),
        labelled_fits=fits,
        suspected=(size >= 0) & ~fits,
        size=size,
        margin_nm=margin_nm,
        tightest=np.where(size >= 0, tightest, -1).astype(np.int16),
        compared=compared,
    )


def _tightest(
    table: _Table, plans: Mapping[str, PointPlan], label: Mapping[str, PointPlan]
) -> tuple[Lengths, Places, Flags]:
    """Least room (nm), where, and whether every point read of the label could be compared."""
    pieces = len(table.means_nm)
    least = np.full(pieces, _NOT_COMPARED, np.int64)
    where = np.full(pieces, -1, np.int16)
    comparable = np.ones(pieces, np.bool_)
    for place, (code, of_label) in enumerate(label.items()):
        seen = np.zeros(pieces, np.bool_)
        for aspect, value_nm, there, limits in _values(plans[code], table) if code in plans else ():
            room_nm = np.minimum(value_nm - limits.lower_nm, limits.upper_nm - value_nm)
            less = there & (room_nm < least)
            least[less] = room_nm[less]
            where[less] = place * len(_ASPECTS) + _ASPECTS.index(aspect)
            seen |= there
        if plans is not label:
            for side in of_label.sides:
                comparable &= seen | ~table.column((code, side))[1]
    return least, where, comparable


def _values(plan: PointPlan, table: _Table) -> Iterator[tuple[str, Lengths, Flags, Limits]]:
    """What is compared at one point, as on the plain road, with the pieces that have it."""
    sides = {side: table.column((plan.code, side)) for side in plan.sides}
    if not plan.judged_as_full:
        for side, (mean_nm, there) in sides.items():
            yield side, mean_nm, there, plan.limits
        return
    read = np.add.reduce([there for _, there in sides.values()], dtype=np.int64)
    total_nm = np.add.reduce([mean_nm for mean_nm, _ in sides.values()])
    yield "F", np.where(read == 2, total_nm, 2 * total_nm), read > 0, plan.full_limits
