"""The means behind the pictures."""

from __future__ import annotations

import pytest

from inventory.calc.causes import Batch, Piece, Point, PointKind, Reading, Side
from inventory.queries.causes.shifts import ALL, GIRTHS, LENGTHS, Shift, shifts_of
from tests.factories import MM

POINTS = (Point("WA", PointKind.HALF, MM, MM), Point("CF", PointKind.LENGTH, MM, MM))
PIECES = (Piece("P1", 0, "22"), Piece("P2", 1, "24"))


def _read(piece: str, code: str, side: Side, off_mm: float, by: str = "ann", *, tape: str = "T1") -> Reading:
    return Reading(piece, code, side, by, tape, 300 * MM, round(off_mm * MM))


def test_points_are_drawn_by_side_with_twice_the_standard_error() -> None:
    batch = Batch(
        POINTS, PIECES, (_read("P1", "WA", "L", 2), _read("P2", "WA", "L", 4), _read("P1", "WA", "R", 1))
    )
    (line,) = shifts_of(batch).points
    assert line.name == "WA"
    # SD of 2 and 4 is √2, its standard error 1; a single reading has none.
    assert line.shifts["L"].mean_nm == 3 * MM
    assert line.shifts["L"].doubt_nm == pytest.approx(2 * MM)
    assert line.shifts["R"] == Shift(MM, None, 1)


def test_sizes_are_drawn_for_each_point_smallest_first() -> None:
    batch = Batch(
        POINTS, PIECES, (_read("P2", "WA", "L", 4), _read("P1", "WA", "L", 2), _read("P1", "CF", "L", 0))
    )
    waist, front = shifts_of(batch).sizes
    assert [(line.name, line.shifts[ALL].mean_nm) for line in waist.lines] == [("22", 2 * MM), ("24", 4 * MM)]
    assert [line.name for line in front.lines] == ["22"]


def test_nobody_is_blamed_for_having_read_the_point_that_is_off() -> None:
    readings = (
        *(_read("P1", "WA", "L", 9, who) for who in ("ann", "bea")),
        *(_read("P2", "WA", "L", 9, "ann") for _ in range(4)),
        _read("P2", "CF", "L", 0, "bea", tape="T2"),
    )
    found = shifts_of(Batch(POINTS, PIECES, readings))
    assert [line.name for line in found.people] == ["ann", "bea"]
    assert {shift.mean_nm for line in found.people for shift in line.shifts.values()} == {0}
    assert [set(line.shifts) for line in found.tapes] == [{GIRTHS}, {LENGTHS}]


def test_one_person_with_one_tape_is_compared_with_nobody() -> None:
    found = shifts_of(Batch(POINTS, PIECES, (_read("P1", "WA", "L", 2), _read("P1", "WA", "R", 1))))
    assert (found.people, found.tapes) == ((), ())
    assert len(found.sizes) == 2
