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
    squares = np.ones(counts.shape, np.int64)
    shared = {code: _same(of_column[code, "L"], of_column[code, "R"], members) for code in paired}
    with_repeats = np.flatnonzero((counts > 1).any(axis=1))
    if not len(with_repeats) and all(same.all() for same in shared.values()):
        return None
    for row in with_repeats.tolist():
        took = {column: _took(repeats, int(members[row])) for column, repeats in of_column.items()}
        for place, column in enumerate(columns):
            squares[row, place] = sum(count * count for count in took[column].values()) or 1
        for code in paired:
            left, right = took[code, "L"], took[code, "R"]
            if left and right:
                shared[code][row] = sum(count * right[person] for person, count in left.items())
    return ReadBy(squares, shared)


def _same(left: list[Readings], right: list[Readings], members: Lengths) -> Lengths:
    """1 where one person read both halves, or only one half was read; for pieces without repeats."""
    one, other = _reader(left, members), _reader(right, members)
    shared: Lengths = 1 - ((one >= 0) & (other >= 0) & (one != other)).astype(np.int64)
    return shared


def _reader(repeats: list[Readings], members: Lengths) -> Lengths:
    """Who read each piece, any of them where several did; -1 where nobody did."""
    who = np.full(len(members), -1, np.int64)
    for one in repeats:
        who = np.where(one.nm[members] >= 0, np.array(one.by, np.int64)[members], who)
    return who


def _took(repeats: list[Readings], piece: int) -> Counter[int]:
    """How many of the repeats each person took."""
    return Counter(one.by[piece] for one in repeats if one.nm[piece] >= 0)
