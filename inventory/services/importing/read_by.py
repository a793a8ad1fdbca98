"""Who read which half of the pieces of a file: what a sum or a difference of halves hangs on."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from inventory.calc.judging import ReadBy

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.calc.conformity import Lengths
    from inventory.services.importing.pieces import Pieces, Readings


def read_by(
    pieces: Pieces, columns: Sequence[tuple[str, str]], members: Lengths, counts: Lengths
) -> ReadBy | None:
    """The sums `judge_many` takes, for the members; None where one person read each piece once."""
    of_column = {
        column: [one for one in pieces.readings if (one.code, one.side) == column] for column in columns
    }
    paired = [code for code, side in columns if side == "R"]
    if counts.max(initial=0) <= 1 and all(len(repeats) <= 1 for repeats in of_column.values()):
        shared = {code: _same(of_column[code, "L"], of_column[code, "R"], members) for code in paired}
        if all(same.all() for same in shared.values()):
            return None
        return ReadBy(np.ones(counts.shape, np.int64), shared)
    squares = np.ones(counts.shape, np.int64)
    shared = {code: np.ones(len(members), np.int64) for code in paired}
    for row, piece in enumerate(members.tolist()):
        took = {column: _took(repeats, piece) for column, repeats in of_column.items()}
        for place, column in enumerate(columns):
            squares[row, place] = sum(count * count for count in took[column].values()) or 1
        for code in paired:
            left, right = took[code, "L"], took[code, "R"]
            if left and right:
                shared[code][row] = sum(count * right[person] for person, count in left.items())
    return ReadBy(squares, shared)


def _same(left: list[Readings], right: list[Readings], members: Lengths) -> Lengths:
    """1 where one person read both halves, or only one half was read."""
    if not left or not right:
        return np.ones(len(members), np.int64)
    (one,), (other,) = left, right
    both = (one.nm[members] >= 0) & (other.nm[members] >= 0)
    differ = np.array(one.by)[members] != np.array(other.by)[members]
    shared: Lengths = 1 - (both & differ).astype(np.int64)
    return shared


def _took(repeats: list[Readings], piece: int) -> Counter[int]:
    """How many of the repeats each person took."""
    return Counter(one.by[piece] for one in repeats if one.nm[piece] >= 0)
