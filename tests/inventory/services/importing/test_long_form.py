"""One line a reading: gathered into pieces, repeats and people kept apart, faults named by line."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

import pytest

from inventory.calc.length import Unit
from inventory.models import ImportRun, Inspection, PieceVerdict, Reading
from inventory.models.people import Role
from tests.factories import make_instrument, make_user
from tests.inventory.services.importing.files_of_pieces import (
    COLUMNS,
    World,
    bring_in,
    check,
    csv_of,
    make_world,
    pieces_in_order,
    row,
    upload,
)

pytestmark = pytest.mark.django_db

HEAD = ["Piece", "Size", "Point", "Side", "Reading"]
Line = Sequence[object]


def lines_of(reference: str, size: str = "24") -> list[Line]:
    figures = row(reference, size)[3:]
    return [[reference, size, code, side, mm] for (code, side), mm in zip(COLUMNS, figures, strict=True)]


def faults(
    lines: Sequence[Line], world: World, *, header: Sequence[str] = HEAD
) -> list[tuple[int, str, str]]:
    run = check(upload(csv_of(lines, header=header), world), world)
    return [(at, column, said) for at, column, said in run.report["errors"]]


def stored(run: ImportRun) -> list[tuple[object, ...]]:
    """What a run stored, by piece, point, side and repeat."""
    found = Reading.objects.filter(inspection__import_run=run).order_by(
        "inspection__piece__number", "point__code", "side", "repeat"
    )
    return list(
        found.values_list(
            "inspection__piece__maker_reference", "point__code", "side", "repeat", "typed", "length_nm"
        )
    )


def test_lines_in_any_order_store_what_the_wide_form_stores() -> None:
    world = make_world()
    wide = bring_in(csv_of([row("a1"), row("a2", "22", off={("WA", "L"): 9}), row("a3", "26")]), world)
    lines = [*lines_of("a1"), *lines_of("a2", "22"), *lines_of("a3", "26")]
    at = next(place for place, line in enumerate(lines) if line[:4] == ["a2", "22", "WA", "L"])
    lines[at] = [*lines[at][:4], float(str(lines[at][4])) + 9]
    first, rest = lines[::6], [line for place, line in enumerate(lines) if place % 6]
    random.Random(4).shuffle(rest)
    other_order = replace(world.target, order="PO-8")  # of the same order they would be the same garments
    long = bring_in(csv_of([*first, *rest], header=HEAD), world, target=other_order)
    assert long.mapping["layout"] == "long"
    assert [(*line[:4], line[5]) for line in stored(long)] == [(*line[:4], line[5]) for line in stored(wide)]
    both = [
        list(
            PieceVerdict.objects.filter(inspection__import_run=run)
            .order_by("piece__number")
            .values_list("shelf", "claim", "worst_point", "findings", "basis__digest")
        )
        for run in (wide, long)
    ]
    assert both[0] == both[1]


def test_a_second_line_of_the_same_side_is_a_repeat_by_its_own_person_with_their_own_tape() -> None:
    world = make_world()
    make_user(Role.INSPECTOR, username="ann")
    make_instrument(number="T-1")
    lines = [[*line, "ann", "T-1"] for line in lines_of("a1")]
    lines.append(["a1", "24", "WA", "left", "356", "", ""])
    bring_in(csv_of(lines, header=[*HEAD, "Measured by", "Tape"]), world)
    waist = Reading.objects.filter(point__code="WA", side="L").order_by("repeat")
    assert [
        (one.repeat, one.typed, one.taken_by.username, one.instrument and one.instrument.number)
        for one in waist
    ] == [
        (1, "355", "ann", "T-1"),
        (2, "356", world.inspector.username, None),
    ]
    assert len(pieces_in_order()) == Inspection.objects.count() == 1


def test_points_and_sides_may_be_written_in_words_and_units_in_a_column_of_their_own() -> None:
    world = make_world()
    words = {"UB": "Half underbust", "WA": "half waist", "CF": "Centre front length"}
    lines = [
        [piece, size, words[str(code)], {"L": "left", "R": "Right"}[str(side)], float(str(mm)) / 10, "cm"]
        for piece, size, code, side, mm in lines_of("a1")
    ]
    lines[0][4:] = ["15 15/16", "inches"]
    bring_in(csv_of(lines, header=[*HEAD, "Unit"]), world, unit=Unit.MM)
    assert Reading.objects.count() == 6
    first = Reading.objects.get(point__code="UB", side="L")
    assert (first.typed, first.unit, first.length_nm) == ("15 15/16", "in", 404_812_500)
    assert Reading.objects.get(point__code="WA", side="L").length_nm == 355_000_000


@pytest.mark.parametrize(
    ("line", "column", "sentence"),
    [
        (["", "24", "WA", "L", "355"], "Piece", "No piece reference stands here"),
        (["a1", "22", "WA", "L", "355"], "Size", "Piece 'a1' is size 22 here and size 24 in row 2"),
        (["a1", "24", "XX", "L", "355"], "Point", "'XX' is no point of a style here"),
        (["a1", "24", "WA", "up", "355"], "Point", "Side 'up' was not understood"),
        (["a1", "24", "WA", "", "355"], "Point", "WA is read on L and R; no side was given"),
        (["a1", "24", "WA", "L", "soon"], "Reading", '"soon" was read as'),
        (["a1", "99", "WA", "L", "355"], "Size", "Size '99' is not in spec"),
    ],
)
def test_a_line_that_cannot_be_right_is_named(line: Line, column: str, sentence: str) -> None:
    found = faults([*lines_of("a1"), line], make_world())
    assert any(at == 8 and name == column and said.startswith(sentence) for at, name, said in found), found


def test_a_unit_that_is_none_is_named() -> None:
    lines = [[*line, "mm"] for line in lines_of("a1")]
    lines[2] = [*lines[2][:5], "ells"]
    assert faults(lines, make_world(), header=[*HEAD, "Unit"]) == [
        (4, "Unit", "Unit 'ells' is not mm, cm or inch. Type one of these.")
    ]


def test_a_piece_of_which_something_is_missing_waits_for_the_bench() -> None:
    world = make_world()
    run = bring_in(csv_of([*lines_of("a1"), *lines_of("a2")[:4]], header=HEAD), world)
    assert (run.report["counts"]["incomplete"], PieceVerdict.objects.count()) == (1, 1)
    assert Inspection.objects.get(piece__maker_reference="a2").finished_at is None


def test_blank_lines_notes_sums_and_headers_between_the_readings_are_left_out_with_a_word() -> None:
    world = make_world()
    lines: list[Line] = [
        *lines_of("a1"),
        [],
        HEAD,
        ["Total", "", "", "", "6"],
        ["after lunch"],
        *lines_of("a2"),
    ]
    run = bring_in(csv_of(lines, header=HEAD), world)
    assert [(at, why) for at, _, why in run.report["left_out"]] == [
        (9, "the header again"),
        (10, "a sum, not a piece"),
        (11, "a note: no size and no figure"),
    ]
    assert len(pieces_in_order()) == 2


def test_pieces_and_points_in_another_unit_are_asked_about_once() -> None:
    world = make_world()
    in_cm = [[*line[:4], float(str(line[4])) / 10] for line in lines_of("a1")]
    rest = [line for number in range(2, 9) for line in lines_of(f"a{number}")]
    (asked,) = check(upload(csv_of([*in_cm, *rest], header=HEAD), world), world).report["suspicious"]
    assert asked[:2] == [2, "1 piece"]
    assert "6 figures in the piece that begins in row 2 look like centimetres" in asked[3]
    waists = [[*line[:4], float(str(line[4])) / 10] if line[2:4] == ["WA", "L"] else line for line in rest]
    (asked,) = check(upload(csv_of(waists, header=HEAD), world), world).report["suspicious"]
    assert asked[1] == "WA L"
    assert "write the unit into its cells, such as 33 cm" in asked[3]
