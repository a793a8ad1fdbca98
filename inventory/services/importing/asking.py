"""Asks the slip guard about one reading of a file after another.

What the guard answers depends on the figure, on what else was read at the same point, and on which sizes the
piece's other readings fit; where all of that is the same the answer is too, and is taken from the first time.
So a file in the wrong unit, in which every figure is doubtful, is gone through in bearable time as well.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from inventory.calc import length, slips
from inventory.services.importing.expected_figures import Kinds, fits_of, shifts_of

if TYPE_CHECKING:
    from inventory.calc.plan import Side
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces

_MOST_KEPT: Final = 200_000
_OTHER_SIDE: Final = {"L": "R", "R": "L"}


class Asker:
    """Asks about one reading after another, and remembers what was answered."""

    def __init__(self, pieces: Pieces, kinds: Kinds, books: Books, *, display: length.Display) -> None:
        self._pieces, self._kinds, self._books, self._display = pieces, kinds, books, display
        self._columns: dict[tuple[str, str], list[int]] = {}
        for place, one in enumerate(pieces.readings):
            self._columns.setdefault((one.code, one.side), []).append(place)
        self._fits = np.stack([fits_of(one, kinds, books) for one in pieces.readings], axis=1)
        self._shifts = shifts_of(pieces, kinds, books)
        self._known: dict[tuple[object, ...], slips.Slip | None] = {}

    def slip(self, piece: int, column: int) -> slips.Slip | None:
        """The likeliest slip, if any."""
        one = self._pieces.readings[column]
        place = int(self._kinds.place[piece])
        group = self._kinds.groups[place]
        fits = self._fits[piece].copy()
        fits[self._columns[one.code, one.side]] = 0  # the guard leaves this side itself out
        key = (
            place, one.code, one.side, one.typed[piece], one.unit[piece],
            self._read_at(piece, (one.code, one.side), but=column),
            self._read_at(piece, (one.code, _OTHER_SIDE.get(one.side, "")), but=column),
            fits.tobytes(),
        )  # fmt: skip
        if key not in self._known:
            if len(self._known) >= _MOST_KEPT:
                self._known.clear()
            shift_nm = self._shifts.get((group, one.code), 0)
            self._known[key] = self._ask(piece, column, shift_nm=shift_nm)
        return self._known[key]

    def _read_at(self, piece: int, at: tuple[str, str], *, but: int) -> int:
        """What else was read there; the last where there are several, -1 where nothing was."""
        found = -1
        for place in self._columns.get(at, ()):
            if place != but and self._pieces.readings[place].nm[piece] >= 0:
                found = int(self._pieces.readings[place].nm[piece])
        return found

    def _ask(self, piece: int, column: int, *, shift_nm: int) -> slips.Slip | None:
        one, size = self._pieces.readings[column], self._pieces.size[piece]
        plans = self._books.plans(self._pieces.groups[self._pieces.group[piece]].judged_by)
        if one.code not in plans.for_size(size):
            return None
        taken = {
            (other.code, cast("Side", other.side)): int(other.nm[piece])
            for other in self._pieces.readings
            if other is not one and other.nm[piece] >= 0 and other.code in plans.points
        }
        ask = partial(
            slips.questions_for,
            reading=length.parse(one.typed[piece], unit=length.Unit(one.unit[piece])),
            code=one.code,
            side=cast("Side", one.side),
            size_label=size,
            plans_by_size=plans.by_size,
            taken=taken,
            display=self._display,
        )
        found = ask()
        if found and shift_nm:
            found = ask(batch_shift_nm=shift_nm)
        return found[0] if found else None
