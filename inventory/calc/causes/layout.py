"""A batch as columns of numbers, one row a reading, in mm: what every cause builds its pattern from.

Readings of the same side of the same point of the same piece form a cell and lie side by side: they share
what the maker made and differ by the reading alone. The cells of a piece form a block. The rows of what moved
elsewhere come last, each a cell and a block of its own that no maker's hand has touched.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from inventory.calc.causes.batch import Batch, Elsewhere, Point, Reading

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

NM_PER_MM: Final = 1e6
LEAST_REPEAT_MM: Final = 0.25
"""Nobody repeats a tape reading closer than this (common practice, no source)."""

NOWHERE: Final = -1
"""Piece, point or level of a row that has none."""

_SIDES: Final = ("L", "R", "S")
SINGLE: Final = 2
"""Side of a point that has one only."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The columns of a batch, all of length n, rows sorted by piece and cell; those of elsewhere last.

    Lengths in mm. A column that is not known for a row holds nan (steps, seams) or `NOWHERE` (indices).
    """

    batch: Batch
    people: tuple[str, ...]
    tapes: tuple[str, ...]
    deviation: Floats
    nominal: Floats
    repeat: Floats
    between_people: Floats
    spread: Floats
    piece: Ints
    point: Ints
    side: Ints
    level: Ints
    size: Ints
    person: Ints
    tape: Ints
    order: Ints
    girth: Flags
    sensitivity: Floats
    seams: Floats
    step_up: Floats
    step_down: Floats
    step_former: Floats
    in_bundle: Floats
    cell: Ints
    cell_start: Ints
    block: Ints
    block_start: Ints

    @property
    def rows(self) -> int:
        return len(self.deviation)

    @property
    def inside(self) -> Flags:
        """Which rows are readings of the batch itself."""
        flags: Flags = self.piece != NOWHERE
        return flags

    def share_of(self, holder: Ints, who: int, among: int) -> Floats:
        """1 where a row belongs to a person (or tape), 0 where not, one part in all where several shared."""
        return np.where(holder == NOWHERE, 1.0 / among, (holder == who).astype(float))

    def since(self, order: int) -> Floats:
        """1 where a row was read from then on, 0 before; a share where it was read all the while."""
        late = self.order >= order
        return np.where(self.order == NOWHERE, late[self.inside].mean(), late.astype(float))

    def at_points(self, wanted: Sequence[bool]) -> Flags:
        """Which rows of the batch lie on the points marked, one mark a point of the batch."""
        flags: Flags = self.inside & np.array([*wanted, False], dtype=bool)[self.point]
        return flags


def lay_out(batch: Batch) -> Layout:
    """The columns of a batch."""
    points = {point.code: place for place, point in enumerate(batch.points)}
    pieces = {piece.name: place for place, piece in enumerate(batch.pieces)}
    sides = {side: place for place, side in enumerate(_SIDES)}
    cells = [(pieces[r.piece], points[r.code], sides[r.side], r.order) for r in batch.readings]
    by_cell = sorted(range(len(cells)), key=cells.__getitem__)
    readings = [batch.readings[place] for place in by_cell]
    other = batch.elsewhere
    people = tuple(dict.fromkeys(reading.person for reading in readings))
    tapes = tuple(dict.fromkeys(reading.tape for reading in readings))
    at = np.array([cells[place][:3] for place in by_cell], dtype=np.int64)
    of_point = [batch.points[place] for place in at[:, 1]]
    of_piece = [batch.pieces[place] for place in at[:, 0]]
    cell, block = _numbered(at, other), _numbered(at[:, :1], other)
    return Layout(
        batch=batch,
        people=people,
        tapes=tapes,
        deviation=_mm([r.deviation_nm for r in readings] + [e.shift_nm for e in other]),
        nominal=_mm([r.nominal_nm for r in readings] + [e.nominal_nm for e in other]),
        repeat=_repeat(of_point, other),
        between_people=_mm([p.person_nm for p in of_point] + [0 for _ in other]),
        spread=_mm([p.spread_nm for p in of_point] + [0 for _ in other]),
        piece=_padded(at[:, 0], other),
        point=_padded(at[:, 1], other),
        side=_padded(at[:, 2], other),
        level=_padded([NOWHERE if p.level is None else p.level for p in of_point], other),
        size=_padded([piece.size for piece in of_piece], other),
        person=_who([r.person for r in readings] + [e.person for e in other], people),
        tape=_who([r.tape for r in readings] + [e.tape for e in other], tapes),
        order=np.array(
            [r.order for r in readings] + [NOWHERE if e.order is None else e.order for e in other],
            dtype=np.int64,
        ),
        girth=np.array([p.is_girth for p in of_point] + [e.is_girth for e in other], dtype=bool),
        sensitivity=np.array(
            [p.height_sensitivity for p in of_point] + [e.height_sensitivity for e in other], dtype=float
        ),
        seams=_known([p.seams for p in of_point], other),
        step_up=_steps([r.larger_nm for r in readings], readings, other),
        step_down=_steps([r.smaller_nm for r in readings], readings, other),
        step_former=_steps([r.former_nm for r in readings], readings, other),
        in_bundle=_known(_places_in_bundle(batch, at[:, 0]), other),
        cell=cell,
        cell_start=_starts(cell),
        block=block,
        block_start=_starts(block),
    )


def _numbered(at: Ints, other: Sequence[Elsewhere]) -> Ints:
    """A running number for equal rows side by side; each row of elsewhere has its own."""
    number = np.concatenate([np.zeros(1, dtype=np.int64), (at[1:] != at[:-1]).any(axis=1).cumsum()])
    return np.append(number, number[-1] + 1 + np.arange(len(other)))


def _starts(number: Ints) -> Ints:
    return np.flatnonzero(np.diff(number, prepend=-1))


def _mm(lengths_nm: Sequence[float]) -> Floats:
    return np.array(lengths_nm, dtype=float) / NM_PER_MM


def _padded(column: Sequence[int] | Ints, other: Sequence[Elsewhere]) -> Ints:
    return np.append(np.asarray(column, dtype=np.int64), np.full(len(other), NOWHERE, dtype=np.int64))


def _known(column: Sequence[float | None], other: Sequence[Elsewhere]) -> Floats:
    return np.array([np.nan if x is None else x for x in column] + [np.nan for _ in other], dtype=float)


def _steps(nominals: Sequence[int | None], of: Sequence[Reading], other: Sequence[Elsewhere]) -> Floats:
    steps = [
        None if nm is None else (nm - r.nominal_nm) / NM_PER_MM for nm, r in zip(nominals, of, strict=True)
    ]
    return _known(steps, other)


def _repeat(of_point: Sequence[Point], other: Sequence[Elsewhere]) -> Floats:
    """SD of one reading by one person; elsewhere the uncertainty of the shift."""
    within = np.maximum(_mm([point.repeat_nm for point in of_point]), LEAST_REPEAT_MM)
    return np.append(within, _mm([shift.u_nm for shift in other]))


def _who(names: Sequence[str | None], known: Sequence[str]) -> Ints:
    """Places of names; NOWHERE for several, beyond the last for one who read nothing of this batch."""
    places: dict[str | None, int] = {name: place for place, name in enumerate(known)}
    places[None] = NOWHERE
    return np.array([places.get(name, len(known)) for name in names], dtype=np.int64)


def _places_in_bundle(batch: Batch, piece_of_row: Ints) -> list[float | None]:
    """Place within its size from 0 (first) to 1 (last); None unless every piece of the batch has one."""
    if any(piece.in_bundle is None for piece in batch.pieces):
        return [None] * len(piece_of_row)
    last: dict[int, int] = {}
    first: dict[int, int] = {}
    for piece in batch.pieces:
        at = piece.in_bundle or 0
        last[piece.size], first[piece.size] = (
            max(at, last.get(piece.size, at)),
            min(at, first.get(piece.size, at)),
        )
    places = []
    for piece in batch.pieces:
        run = last[piece.size] - first[piece.size]
        places.append(((piece.in_bundle or 0) - first[piece.size]) / run if run else 0.0)
    return [places[place] for place in piece_of_row]
