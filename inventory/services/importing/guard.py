"""The slip guard over all readings of a file.

Most readings lie within their limits and need no question; they are sifted out as arrays. The others are
looked at one by one, with the piece's other readings beside them, as at the bench.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from inventory.calc import length, slips
from inventory.calc.slips.digits import fraction_behind_decimals

if TYPE_CHECKING:
    from inventory.calc.conformity import Lengths
    from inventory.calc.judging.arrays import Flags
    from inventory.calc.plan import Side
    from inventory.models import Spec
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces, Readings
    from inventory.services.importing.report import Report

Kinds = list["tuple[Spec, str] | None"]
"""The specs and sizes that occur; None where one of them is not known."""

MOST_LOOKED_AT: Final = 5_000
_FARTHEST: Final = np.iinfo(np.int64).max


def look_for_slips(
    pieces: Pieces, books: Books, report: Report, *, display: length.Display, said: Callable[[int, int], None]
) -> None:
    """Note every reading that looks like a slip. `said(done, total)` is told how far it is."""
    places, kinds = _kinds_of(pieces)
    doubtful = [
        (int(piece), column)
        for column in pieces.readings
        for piece in np.flatnonzero(_outside(column, places, kinds, books) | _maybe_fraction(column, display))
        if kinds[places[piece]] is not None
    ]
    doubtful.sort(key=lambda found: found[0])
    for done, (piece, column) in enumerate(doubtful[:MOST_LOOKED_AT]):
        if done % 200 == 0:
            said(done, len(doubtful))
        _ask(pieces, books, report, piece=piece, column=column, display=display)
    rest = len(doubtful) - MOST_LOOKED_AT
    if rest > 0:
        report.suspicion_count += rest
        report.remarks.append(
            f"{len(doubtful)} readings lie outside their limits; the first {MOST_LOOKED_AT} were looked at "
            "one by "
            f"one, the other {rest} all count as suspicious. Are unit, columns and style right?"
        )


def _kinds_of(
    pieces: Pieces,
) -> tuple[Lengths, Kinds]:
    """For each piece the place of its spec and size in the list of those that occur."""
    known: dict[tuple[int, str], int] = {}
    kinds: Kinds = []
    places = np.empty(len(pieces), np.int64)
    for piece, key in enumerate(zip(pieces.group, pieces.size, strict=True)):
        place = known.get(key)
        if place is None:
            place = known[key] = len(kinds)
            spec = pieces.groups[key[0]].spec
            kinds.append((spec, key[1]) if key[1] and spec is not None else None)
        places[piece] = place
    return places, kinds


def _outside(column: Readings, places: Lengths, kinds: Kinds, books: Books) -> Flags:
    lower = np.zeros(len(kinds), np.int64)
    upper = np.full(len(kinds), _FARTHEST, np.int64)
    for place, kind in enumerate(kinds):
        plan = None if kind is None else books.plans(kind[0]).for_size(kind[1]).get(column.code)
        if plan is not None and column.side in plan.sides:
            expected = slips.expected_of(plan)
            lower[place], upper[place] = max(expected.lower_nm, 1), expected.upper_nm
    if not len(kinds):
        return np.zeros(0, np.bool_)
    read = column.nm >= 0
    return read & ((column.nm < lower[places]) | (column.nm > upper[places]))


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


def _ask(
    pieces: Pieces, books: Books, report: Report, *, piece: int, column: Readings, display: length.Display
) -> None:
    spec = pieces.groups[pieces.group[piece]].judged_by
    plans = books.plans(spec)
    size = pieces.size[piece]
    if column.code not in plans.for_size(size):
        return
    taken = {
        (other.code, cast("Side", other.side)): int(other.nm[piece])
        for other in pieces.readings
        if other is not column and other.nm[piece] >= 0 and other.code in plans.points
    }
    found = slips.questions_for(
        reading=length.parse(column.typed[piece], unit=length.Unit(column.unit[piece])),
        code=column.code,
        side=cast("Side", column.side),
        size_label=size,
        plans_by_size=plans.by_size,
        taken=taken,
        display=display,
    )
    if found:
        report.suspicion(column.row[piece], column.label, column.typed[piece], found[0].question)
