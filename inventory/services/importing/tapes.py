"""What is known of the tapes a file was read with, piece by piece and column by column."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from inventory.queries.tape_corrections import Known, Tapes, TapesOfPoint

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Sequence

    from inventory.calc.conformity import Lengths
    from inventory.services.importing.pieces import Pieces, Readings

NOT_READ: Final = "not read"

TapesOfColumns = tuple["Known | Literal['not read'] | None", ...]
"""What is known of the tape of each column of readings, one entry for all columns where it is the same."""


class TapesOfFile:
    """With what each piece was read. `moments` say when, for readings of which the file does not."""

    def __init__(self, pieces: Pieces, moments: Sequence[dt.datetime], tapes: Tapes) -> None:
        """Nothing is looked at where nothing is known of any tape."""
        self._known: list[Known | None] = [None]
        self._table: Lengths | None = None
        if not tapes or not pieces.readings:
            return
        place_of: dict[Known | None, int] = {None: 0}
        columns: dict[tuple[int, int], Lengths] = {}
        for one in pieces.readings:
            # The columns of a wide file share these lists, so most files are looked through once.
            source = (id(one.tape), id(one.taken_at))
            if source not in columns:
                found = (
                    tapes.at(tape, taken_at or moment)
                    for tape, taken_at, moment in zip(one.tape, one.taken_at, moments, strict=True)
                )
                columns[source] = np.array([place_of.setdefault(known, len(place_of)) for known in found])
        self._known = list(place_of)
        self._table = np.stack(
            [np.where(one.nm >= 0, columns[id(one.tape), id(one.taken_at)], -1) for one in pieces.readings]
        )
        read = self._table >= 0
        first = np.where(read, self._table, len(self._known)).min(axis=0)
        self._alike = (~read | (self._table == first)).all(axis=0).tolist()
        self._first = first.tolist()

    def of_columns(self, piece: int) -> TapesOfColumns:
        """What is known of the tapes of one piece."""
        if self._table is None:
            return (None,)
        if self._alike[piece]:
            first = self._first[piece]
            return (self._known[first] if first < len(self._known) else None,)
        return tuple(
            self._known[place] if place >= 0 else NOT_READ for place in self._table[:, piece].tolist()
        )


def corrected_column(nm: Lengths, read_with: TapesOfColumns, place: int) -> Lengths:
    """The readings of a column without the error of its tape; -1 stays -1."""
    known = _of(read_with, place)
    if known is None or known == NOT_READ:
        return nm
    return np.where(nm >= 0, known.segment.line.corrected_many(nm), nm)


def known_by_code(
    columns: Sequence[Readings], read_with: TapesOfColumns, codes: Collection[str]
) -> dict[str, TapesOfPoint]:
    """With what each point was read and how many times, as `queries.tape_corrections.known_by_point`."""
    found: dict[str, TapesOfPoint] = {}
    if read_with == (None,):
        return found
    for place, one in enumerate(columns):
        known = _of(read_with, place)
        if one.code in codes and known != NOT_READ:
            of_point = found.setdefault(one.code, {})
            of_point[known] = of_point.get(known, 0) + 1
    return found


def _of(read_with: TapesOfColumns, place: int) -> Known | Literal["not read"] | None:
    return read_with[0] if len(read_with) == 1 else read_with[place]
