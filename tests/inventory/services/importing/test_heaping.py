"""Heaps of round figures in a file are told by person and by point, honest figures are not."""

from __future__ import annotations

import random

import pytest

from inventory.models import ImportRun
from tests.inventory.services.importing.files_of_pieces import (
    COLUMNS,
    HEADER,
    check,
    csv_of,
    make_world,
    row,
    upload,
)

pytestmark = pytest.mark.django_db

PIECES = 120


def checked(read_by: dict[str, int], *, seed: int = 3) -> ImportRun:
    """A file in which each person rounds to so many mm; the makers scatter by 4 mm."""
    rnd = random.Random(seed)
    world = make_world()
    rows = []
    for number in range(PIECES):
        who = list(read_by)[number % len(read_by)]
        line = row(
            f"a{number}", rnd.choice(("22", "24", "26")), off={at: rnd.gauss(1.5, 4) for at in COLUMNS}
        )
        step = read_by[who]
        rows.append([*line[:3], *(f"{round(float(str(mm)) / step) * step}" for mm in line[3:]), who])
    return check(upload(csv_of(rows, header=[*HEADER, "Measured by"]), world), world)


def test_a_person_who_rounds_to_five_is_named_and_one_who_reads_is_not() -> None:
    report = checked({"Ann": 1, "Ben": 5}).report
    heaps = report["heaps"]
    asked_about = sum(line % 2 for line, *_ in report["suspicious"])  # Ben's stand in the odd rows
    people = {what: (readings, count) for what, kind, readings, count, _ in heaps if "0 or 5" in kind}
    assert people["read by Ben"] == (PIECES * 3 - asked_about, PIECES * 3 - asked_about)
    assert "read by Ann" not in people
    assert any(what.startswith("point ") for what, *_ in heaps)


@pytest.mark.parametrize("seed", range(5))
def test_honest_figures_make_no_heap(seed: int) -> None:
    assert checked({"Ann": 1, "Ben": 1}, seed=seed).report["heaps"] == []


def test_a_person_who_copies_the_nominal_is_named() -> None:
    world = make_world()
    rows = [[*row(f"a{number}"), "Cleo"] for number in range(PIECES)]
    heaps = check(upload(csv_of(rows, header=[*HEADER, "Measured by"]), world), world).report["heaps"]
    assert ["read by Cleo", "exactly the nominal", PIECES * 6, PIECES * 6] in [line[:4] for line in heaps]


def test_slips_in_a_file_make_no_heap_of_the_honest_figures_beside_them() -> None:
    """Read to half a millimetre about makers who scatter by 1.3 mm; some rows are full girths."""
    rnd = random.Random(5)
    world = make_world()
    rows = []
    for number in range(PIECES):
        line = row(f"a{number}", off={at: round(rnd.gauss(0, 1.3) * 2) / 2 for at in COLUMNS})
        rows.append(line if number % 7 else [*line[:3], *(float(str(mm)) * 2 for mm in line[3:])])
    report = check(upload(csv_of(rows), world), world).report
    assert report["counts"]["suspicious"] >= 100
    assert report["heaps"] == []


@pytest.mark.parametrize("seed", range(3))
def test_points_that_spread_very_differently_accuse_nobody(seed: int) -> None:
    """A waist sewn to a millimetre beside a bust that varies by 2.5: pooled, it hit its nominal too often."""
    rnd = random.Random(seed)
    world = make_world()
    spread = {"WA": 1.0, "UB": 2.5, "CF": 2.0}
    rows = []
    for number in range(PIECES):
        off = {at: round(rnd.gauss(0, spread[at[0]])) for at in COLUMNS}
        rows.append([*row(f"a{number}", rnd.choice(("22", "24", "26")), off=off), "Ann"])
    report = check(upload(csv_of(rows, header=[*HEADER, "Measured by"]), world), world).report
    assert report["heaps"] == []


def test_two_batches_of_different_habits_accuse_nobody() -> None:
    """One order comes to the millimetre, the other 6 mm long: taken as one they would look spread by 3 mm."""
    rnd = random.Random(11)
    world = make_world()
    rows = []
    for number in range(2 * PIECES):
        order, shift = ("PO-A", 0) if number % 2 else ("PO-B", 5.5)
        off = {at: round(rnd.gauss(shift, 1.0)) for at in COLUMNS}
        rows.append([*row(f"a{number}", off=off), "Ann", order])
    report = check(upload(csv_of(rows, header=[*HEADER, "Measured by", "Order"]), world), world).report
    assert report["heaps"] == []
