"""The slip guard over all readings of a file.

Most readings lie within their limits and need no question; they are sifted out as arrays. Each of the others
is looked at, with the piece's other readings beside it, as at the bench. What the guard answers depends on
the figure, on what else was read at the same point, and on which sizes the piece's other readings fit; where
all of that is the same the answer is too, and is taken from the first time. So a file in the wrong unit, in
which every figure is doubtful, is gone through in bearable time as well.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from inventory.calc import length, slips
from inventory.calc.slips.digits import fraction_behind_decimals
from inventory.queries.batch_shift import FEWEST_PIECES
from inventory.services.importing.other_unit import REALLY, UNITS, tell_other_units

if TYPE_CHECKING:
    from inventory.calc.conformity import Lengths
    from inventory.calc.judging.arrays import Flags
    from inventory.calc.plan import PointPlan, Side
    from inventory.models import Spec
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces, Readings
    from inventory.services.importing.report import Report

MANY: Final = 100
"""So many suspicious readings, and a fifth of all, are no slips of the hand but a wrong choice."""
_FARTHEST: Final = np.iinfo(np.int64).max
_MOST_KEPT: Final = 200_000
_TELL_EVERY: Final = 500
_OTHER_SIDE: Final = {"L": "R", "R": "L"}


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

    What is in another unit as a whole is noted once. `wide`: each column holds one side of one point.
    `said(done, total)` is told how far it is.
    """
    odd: Flags = np.zeros((len(pieces), len(pieces.readings)), np.bool_)
    if not pieces.readings or not len(pieces):
        return odd
    kinds = kinds_of(pieces)
    known = np.array([spec is not None for spec in kinds.specs])[kinds.place]
    doubtful = np.stack(
        [(_outside(one, kinds, books) | _maybe_fraction(one, display)) & known for one in pieces.readings],
        axis=1,
    )
    asker = _Asker(pieces, kinds, books, display=display)
    found = np.argwhere(doubtful)
    really = np.zeros(odd.shape, np.int64)
    for done, (piece, column) in enumerate(found.tolist()):
        if done % _TELL_EVERY == 0:
            said(done, len(found))
        slip = asker.slip(piece, column)
        if slip is not None:
            odd[piece, column] = True
            if slip.kind in REALLY:
                really[piece, column] = 1 + UNITS.index(REALLY[slip.kind])
    together = tell_other_units(really, pieces, report, wide=wide)
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


def kinds_of(pieces: Pieces) -> Kinds:
    """The specs and sizes of the groups in a file, and which each piece is."""
    known: dict[tuple[int, str], int] = {}
    keys = list(zip(pieces.group, pieces.size, strict=True))
    place = np.fromiter((known.setdefault(key, len(known)) for key in keys), np.int64, len(keys))
    specs = [pieces.groups[group].spec if size else None for group, size in known]
    return Kinds(place, specs, [size for _, size in known], [group for group, _ in known])


def _outside(column: Readings, kinds: Kinds, books: Books) -> Flags:
    plans = kinds.plans(books, column.code)
    asked = [plan if plan is not None and column.side in plan.sides else None for plan in plans]
    lower, upper = _bounds(asked, none=(0, _FARTHEST))
    return (column.nm >= 0) & ~_within(column, kinds, lower, upper)


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


class _Asker:
    """Asks about one reading after another, and remembers what was answered."""

    def __init__(self, pieces: Pieces, kinds: Kinds, books: Books, *, display: length.Display) -> None:
        self._pieces, self._kinds, self._books, self._display = pieces, kinds, books, display
        self._columns: dict[tuple[str, str], list[int]] = {}
        for place, one in enumerate(pieces.readings):
            self._columns.setdefault((one.code, one.side), []).append(place)
        self._fits = np.stack([_fits(one, kinds, books) for one in pieces.readings], axis=1)
        self._shifts = _shifts(pieces, kinds, books)
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


def _fits(column: Readings, kinds: Kinds, books: Books) -> Flags:
    """Per piece three bits: whether the reading fits its own size, the one before, the one after."""
    bits = np.zeros(len(column.nm), np.uint8)
    for bit, step in enumerate((0, -1, 1)):
        lower, upper = _bounds(kinds.plans(books, column.code, step=step), none=(1, 0))
        bits |= _within(column, kinds, lower, upper).astype(np.uint8) << bit
    return cast("Flags", bits)


def _shifts(pieces: Pieces, kinds: Kinds, books: Books) -> dict[tuple[int, str], int]:
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
