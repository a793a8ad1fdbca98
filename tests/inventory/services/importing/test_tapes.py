"""A file that names its tapes is judged as the bench would judge the same readings."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from inventory.models import Piece, PieceVerdict
from inventory.services.importing.verifying import verify_verdicts
from inventory.services.judging import judge_inspection
from tests.factories import NOW, make_instrument, make_tape_check
from tests.inventory.services.importing.files_of_pieces import HEADER, bring_in, csv_of, make_world, row

pytestmark = pytest.mark.django_db

BEFORE = dt.datetime(2026, 2, 20, 9, tzinfo=dt.UTC)


def test_each_piece_is_corrected_by_the_check_of_its_own_tape() -> None:
    world = make_world()
    short, good, classed = make_instrument(), make_instrument(), make_instrument(accuracy_class="II")
    make_instrument(number="T-none")
    make_tape_check(short, near_mm=-1, far_mm=-3, at=BEFORE)
    make_tape_check(good, at=BEFORE)
    off = {("WA", "L"): -7.0, ("UB", "R"): -8.5}
    rows = [
        [*row(f"a{place}", off=off), tape]
        for place, tape in enumerate([short.number, good.number, classed.number, "T-none", "", short.number])
    ]
    bring_in(csv_of(rows, header=[*HEADER, "Tape"]), world)
    brought = [_told(piece) for piece in Piece.objects.order_by("number")]
    assert verify_verdicts() == (6, [])
    assert [entry["corrections"] is not None for entry in brought] == [True, True, False, False, False, True]
    # 348 mm on a tape that reads short by 1 mm + 0.4 % of 48 mm there.
    assert brought[0]["findings"]["WA"][0][1] == 349_192_000
    for piece in Piece.objects.all():
        verdict = piece.verdicts.get(is_current=True)
        judge_inspection(inspection=verdict.inspection, by=world.inspector, at=NOW)
    assert [_told(piece) for piece in Piece.objects.order_by("number")] == brought


def test_a_piece_read_with_two_tapes_is_judged_as_the_bench_judges_it() -> None:
    world = make_world()
    one, other = make_instrument(), make_instrument()
    make_tape_check(one, near_mm=-1, far_mm=-3, at=BEFORE)
    header = ["Piece", "Size", "Point", "Side", "Reading", "Tape"]
    figures = {"UB": 380, "WA": 330, "CF": 300}
    lines = [
        ["a1", "24", code, side, nominal, other.number if (code, side) == ("WA", "R") else one.number]
        for code, nominal in figures.items()
        for side in ("L", "R")
    ]
    bring_in(csv_of(lines, header=header), world)
    (piece,) = Piece.objects.all()
    brought = _told(piece)
    assert verify_verdicts() == (1, [])
    verdict = piece.verdicts.get(is_current=True)
    judge_inspection(inspection=verdict.inspection, by=world.inspector, at=NOW)
    assert _told(piece) == brought


def _told(piece: Piece) -> dict[str, Any]:  # Any: values of fields
    verdict = PieceVerdict.objects.get(piece=piece, is_current=True)
    names = ("shelf", "claim", "findings", "corrections", "basis_id", "worst_point", "size_margin_nm")
    return {name: getattr(verdict, name) for name in names}
