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
    heaps = checked({"Ann": 1, "Ben": 5}).report["heaps"]
    people = {what: (readings, count) for what, kind, readings, count, _ in heaps if "0 or 5" in kind}
    assert people["read by Ben"] == (PIECES * 3, PIECES * 3)
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
