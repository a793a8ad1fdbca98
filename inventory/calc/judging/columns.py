"""The table of readings handed to ``judge_many``: checked, and cut into columns.

A column is one side of one point over all pieces. Cells that were not read get a count of one and no
meaning, so that no later step divides by zero.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.calc.conformity import Lengths
from inventory.calc.errors import ImpossibleInput
from inventory.calc.judging.arrays import Flags

Counts = Lengths | int


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """Means (nm), which cells are there, and how many readings by how many people stand behind each.

    ``squares`` is the sum of the squared numbers of readings each person took; None where only the number of
    people is known.
    """

    mean_nm: Lengths
    there: Flags
    readings: Lengths
    people: Lengths
    squares: Lengths | None = None


def cut(
    means_nm: Lengths,
    present: Flags,
    readings: Counts,
    people: Counts,
    *,
    width: int,
    squares: Lengths | None = None,
) -> tuple[Column, ...]:
    """Check the table (pieces × ``width``) and cut it; raises ImpossibleInput naming what does not fit."""
    shape = (len(means_nm), width)
    for thing, table, kinds in (
        ("table of means", np.asarray(means_nm), "i"),
        ("table of cells present", np.asarray(present), "b"),
        ("table of readings counts", np.asarray(readings), "i"),
        ("table of people counts", np.asarray(people), "i"),
    ):
        if table.shape != shape and not (table.shape == () and "counts" in thing):
            raise ImpossibleInput(thing, f"of shape {table.shape}", f"Give pieces × columns, {shape}")
        if table.dtype.kind not in kinds:
            raise ImpossibleInput(
                thing, f"of type {table.dtype}", "Give int64 lengths and counts, bool cells"
            )
    of_readings, of_people = _counts(readings, present), _counts(people, present)
    if (of_readings < 1).any() or (of_people < 1).any() or (of_people > of_readings).any():
        raise ImpossibleInput(
            "number of readings or people",
            "below one, or more people than readings, in some cell",
            "Count at least one reading and one person wherever something was read",
        )
    # One copy column by column: every later step then walks through memory in order.
    means = np.ascontiguousarray(np.where(present, means_nm, 0).T.astype(np.int64, copy=False))
    there = np.ascontiguousarray(present.T)
    return tuple(
        Column(
            means[c],
            there[c],
            np.broadcast_to(of_readings, shape)[:, c],
            np.broadcast_to(of_people, shape)[:, c],
            None if squares is None else np.where(present[:, c], squares[:, c], 1),
        )
        for c in range(width)
    )


def _counts(counts: Counts, present: Flags) -> Lengths:
    if isinstance(counts, int):
        return np.asarray(counts, np.int64)
    return np.where(present, counts, 1).astype(np.int64, copy=False)


def combinations(counts: Sequence[Lengths]) -> tuple[Lengths, Lengths]:
    """Row numbers of one example of each combination of counts, and for every row which one it is.

    >>> example, which = combinations([np.array([1, 1, 2]), np.array([1, 1, 1])])
    >>> example.tolist(), which.tolist()
    ([0, 2], [0, 0, 1])
    """
    rows = len(counts[0])
    which = np.zeros(rows, np.int64)
    for count in counts:
        if rows and (count != count[0]).any():
            levels, level = np.unique(count, return_inverse=True)
            which = which * len(levels) + level
    _, example, which = np.unique(which, return_index=True, return_inverse=True)
    return example, which


def either(left: Column, right: Column) -> Column:
    """The side that was read, for pieces where only one was; the left where both were."""
    return Column(
        mean_nm=np.where(left.there, left.mean_nm, right.mean_nm),
        there=left.there | right.there,
        readings=np.where(left.there, left.readings, right.readings),
        people=np.where(left.there, left.people, right.people),
        squares=None
        if left.squares is None or right.squares is None
        else np.where(left.there, left.squares, right.squares),
    )
