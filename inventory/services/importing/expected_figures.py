"""What the figures of a file should be, as arrays: by the spec and the size of each piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from inventory.calc import slips
from inventory.queries.batch_shift import FEWEST_PIECES

if TYPE_CHECKING:
    from inventory.calc.conformity import Lengths
    from inventory.calc.judging.arrays import Flags
    from inventory.calc.plan import PointPlan
    from inventory.models import Spec
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces, Readings

_FARTHEST: Final = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True, eq=False)
class Kinds:
    """The specs and sizes that occur, each with the plans of its own size and of the sizes beside it.

    `place` says for each piece which it is.
    """

    place: Lengths
    specs: list[Spec | None]
    sizes: list[str]
    groups: list[int]

    def plans(self, books: Books, code: str, *, step: int = 0) -> list[PointPlan | None]:
        """For each kind the plan of a point, in the size `step` places on; None where there is none."""
        return [
            self._plan(books, spec, size, code, step)
            for spec, size in zip(self.specs, self.sizes, strict=True)
        ]

    @staticmethod
    def _plan(books: Books, spec: Spec | None, size: str, code: str, step: int) -> PointPlan | None:
        if spec is None:
            return None
        by_size = books.plans(spec).by_size
        labels = list(by_size)
        at = labels.index(size) + step
        return by_size[labels[at]].get(code) if 0 <= at < len(labels) else None


def kinds_of(pieces: Pieces) -> Kinds:
    """The specs and sizes of the groups in a file, and which each piece is."""
    known: dict[tuple[int, str], int] = {}
    keys = list(zip(pieces.group, pieces.size, strict=True))
    place = np.fromiter((known.setdefault(key, len(known)) for key in keys), np.int64, len(keys))
    specs = [pieces.groups[group].spec if size else None for group, size in known]
    return Kinds(place, specs, [size for _, size in known], [group for group, _ in known])


def outside(column: Readings, kinds: Kinds, books: Books) -> Flags:
    """Which readings of a column are not what the guard expects at its point, where the spec has it."""
    plans = kinds.plans(books, column.code)
    asked = [plan if plan is not None and column.side in plan.sides else None for plan in plans]
    lower, upper = _bounds(asked, none=(0, _FARTHEST))
    return (column.nm >= 0) & ~_within(column, kinds, lower, upper)


def fits_of(column: Readings, kinds: Kinds, books: Books) -> Flags:
    """Per piece three bits: whether the reading fits its own size, the one before, the one after."""
    bits = np.zeros(len(column.nm), np.uint8)
    for bit, step in enumerate((0, -1, 1)):
        lower, upper = _bounds(kinds.plans(books, column.code, step=step), none=(1, 0))
        bits |= _within(column, kinds, lower, upper).astype(np.uint8) << bit
    return cast("Flags", bits)


def shifts_of(pieces: Pieces, kinds: Kinds, books: Books) -> dict[tuple[int, str], int]:
    """The usual deviation (nm) of each group at each point: the median of its pieces, as at the bench."""
    group = np.array(pieces.group, np.int64)
    shifts = {}
    for code in {one.code for one in pieces.readings}:
        nominal = nominals_of(kinds, books, code)[kinds.place]
        readings = np.stack([one.nm for one in pieces.readings if one.code == code])
        read = (readings >= 0) & (nominal >= 0)
        count = read.sum(axis=0)
        off = np.where(read, readings - nominal, 0).sum(axis=0) // np.maximum(count, 1)
        for place in range(len(pieces.groups)):
            of_group = np.sort(off[(group == place) & (count > 0)])
            if len(of_group) >= FEWEST_PIECES:
                shifts[place, code] = int(of_group[(len(of_group) - 1) // 2])
    return shifts


def nominals_of(kinds: Kinds, books: Books, code: str) -> Lengths:
    """The nominal (nm) of a point by kind; -1 where the spec does not have it."""
    return np.array([-1 if plan is None else plan.nominal_nm for plan in kinds.plans(books, code)], np.int64)


def _bounds(plans: list[PointPlan | None], *, none: tuple[int, int]) -> tuple[Lengths, Lengths]:
    """What the guard expects of one side of a point, by kind; `none` where the spec does not have it."""
    pairs = []
    for plan in plans:
        if plan is None:
            pairs.append(none)
        else:
            expected = slips.expected_of(plan)
            pairs.append((max(expected.lower_nm, 1), expected.upper_nm))
    return np.array([low for low, _ in pairs], np.int64), np.array([high for _, high in pairs], np.int64)


def _within(column: Readings, kinds: Kinds, lower: Lengths, upper: Lengths) -> Flags:
    return (column.nm >= lower[kinds.place]) & (column.nm <= upper[kinds.place])
