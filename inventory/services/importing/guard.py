"""The slip guard over all readings of a file.

Most readings lie within their limits and need no question; they are sifted out as arrays. Each of the others
is looked at, with the piece's other readings beside it, as at the bench.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.calc import length
from inventory.calc.slips.digits import fraction_behind_decimals
from inventory.services.importing.asking import Asker
from inventory.services.importing.expected_figures import Kinds, kinds_of, outside
from inventory.services.importing.girths import GIRTHS, tell_girths
from inventory.services.importing.other_unit import REALLY, tell_other_units

if TYPE_CHECKING:
    from inventory.calc.judging.arrays import Flags
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces, Readings
    from inventory.services.importing.report import Report

MANY: Final = 100
"""So many suspicious readings, and a fifth of all, are no slips of the hand but a wrong choice."""
_TELL_EVERY: Final = 500


def look_for_slips(
    pieces: Pieces,
    books: Books,
    report: Report,
    *,
    wide: bool,
    display: length.Display,
    said: Callable[[int, int], None],
) -> Flags:
    """Note every reading that looks like a slip, and say which do: pieces down, columns of readings across.

    What is in another unit as a whole, or girths where halves are wanted, is noted once.
    `wide`: each column holds one side of one point.
    `said(done, total)` is told how far it is.
    """
    odd: Flags = np.zeros((len(pieces), len(pieces.readings)), np.bool_)
    if not pieces.readings or not len(pieces):
        return odd
    kinds = kinds_of(pieces)
    asker = Asker(pieces, kinds, books, display=display)
    found = np.argwhere(_doubtful(pieces, kinds, books, display))
    looks = {kind: np.zeros(odd.shape, np.bool_) for kind in (*REALLY, *GIRTHS)}
    for done, (piece, column) in enumerate(found.tolist()):
        if done % _TELL_EVERY == 0:
            said(done, len(found))
        slip = asker.slip(piece, column)
        if slip is not None:
            odd[piece, column] = True
            if slip.kind in looks:
                looks[slip.kind][piece, column] = True
    together = tell_other_units(looks, pieces, report, wide=wide)
    together |= tell_girths(looks, pieces, report, wide=wide)
    for piece, column in np.argwhere(odd & ~together).tolist():
        slip = asker.slip(piece, column)
        assert slip is not None  # asked a moment ago
        one = pieces.readings[column]
        report.suspicion(one.row[piece], one.label, one.typed[piece], slip.question)
    _doubt_the_choices(pieces, report, singly=int((odd & ~together).sum()))
    return odd


def _doubt_the_choices(pieces: Pieces, report: Report, *, singly: int) -> None:
    """Say that so many slips, each of its own kind, point at a wrong choice."""
    readings = sum(int((one.nm >= 0).sum()) for one in pieces.readings)
    if singly >= MANY and singly * 5 >= readings:
        report.remarks.append(
            f"{singly} of {readings} readings look like slips. Are unit, columns and style right?"
        )


def _doubtful(pieces: Pieces, kinds: Kinds, books: Books, display: length.Display) -> Flags:
    """The readings to be asked about, those of pieces without a spec left out."""
    known = np.array([spec is not None for spec in kinds.specs])[kinds.place]
    return np.stack(
        [(outside(one, kinds, books) | _maybe_fraction(one, display)) & known for one in pieces.readings],
        axis=1,
    )


def _maybe_fraction(column: Readings, display: length.Display) -> Flags:
    """Readings like 12.58 in a shop that reads fractions; they may be in tolerance and still be 12 5/8."""
    maybe = np.zeros(len(column.nm), np.bool_)
    if display.denominator is None:
        return maybe
    keys = list(zip(column.typed, column.unit, strict=True))
    telling = {
        key for key in set(keys)
        if key[0] and fraction_behind_decimals(length.parse(key[0], unit=length.Unit(key[1]))) is not None
    }  # fmt: skip
    if telling:
        maybe[[place for place, key in enumerate(keys) if key in telling]] = True
    return maybe
