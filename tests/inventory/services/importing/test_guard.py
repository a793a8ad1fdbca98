"""The look for slips over a whole file: every doubtful reading, and what the guard itself would say of it."""

from __future__ import annotations

import random
from typing import cast

import pytest
from django.utils import timezone

from inventory.calc import length, slips
from inventory.calc.length import Unit
from inventory.calc.plan import Side
from inventory.models import Shop
from inventory.services.importing.books import Books
from inventory.services.importing.checking import check_pieces
from inventory.services.importing.expected_figures import kinds_of, nominals_of
from inventory.services.importing.guard import MANY
from inventory.services.importing.kept_file import table_of
from inventory.services.importing.mapping import TableMapping
from inventory.services.importing.pieces import Pieces
from inventory.services.importing.report import Report
from tests.factories import PointRecipe
from tests.inventory.services.importing.files_of_pieces import (
    COLUMNS,
    HEADER,
    World,
    check,
    csv_of,
    make_world,
    row,
    upload,
)

pytestmark = pytest.mark.django_db

SIZES = ("22", "24", "26")


def read_in(content: bytes, world: World, **changes: object) -> tuple[Pieces, Books, Report]:
    run = upload(content, world, **changes)  # type: ignore[arg-type]  # a test's own
    books = Books()
    pieces, report = check_pieces(
        table_of(run), TableMapping.from_json(run.mapping), books, by=world.inspector, at=timezone.now(),
        display=Shop.objects.current().as_display(), said=lambda _done, _total: None,
    )  # fmt: skip
    return pieces, books, report


def spoilt(rnd: random.Random, number: int) -> list[object]:
    """A piece with figures of every kind of slip among honest ones."""
    made_as = rnd.choice(SIZES)
    line = row(f"a{number}", rnd.choice((made_as, made_as, rnd.choice(SIZES))))
    line[3:] = row("", made_as, off={at: round(rnd.gauss(0, 2)) for at in COLUMNS})[3:]
    for place in range(3, len(line)):
        figure = float(str(line[place]))
        way = rnd.random()
        if way < 0.3:
            line[place] = rnd.choice(
                (figure * 2, figure / 2, figure + 100, figure + 25, figure / 10, figure - 10)
            )
    return line


def test_every_doubtful_reading_gets_what_the_guard_says_of_it_alone() -> None:
    world = make_world()
    rnd = random.Random(7)
    # Under five pieces in a batch, so that no habit of the batch comes in; the same pieces many times over.
    distinct = [spoilt(rnd, number) for number in range(4)]
    pieces, books, report = read_in(csv_of(distinct), world)
    plans = books.plans(world.spec).by_size
    wanted = set()
    for place in range(len(pieces)):
        for column in pieces.readings:
            taken = {
                (other.code, cast("Side", other.side)): int(other.nm[place])
                for other in pieces.readings
                if other is not column
            }
            found = slips.questions_for(
                reading=length.parse(column.typed[place], unit=Unit.MM),
                code=column.code, side=cast("Side", column.side), size_label=pieces.size[place],
                plans_by_size=plans, taken=taken, display=Shop.objects.current().as_display(),
            )  # fmt: skip
            if found:
                wanted.add((pieces.row[place], column.label, found[0].question))
    assert len(wanted) > 5
    assert {(at, label, said) for at, label, _, said in report.suspicions} == wanted


def test_what_is_remembered_is_what_would_be_answered_anew() -> None:
    world = make_world()
    rnd = random.Random(8)
    distinct = [spoilt(rnd, number) for number in range(40)]
    once = read_in(csv_of(distinct), world)[2]
    # The same forty pieces five times over have the same median, and mostly answers that are known already.
    many = read_in(
        csv_of([[f"{line[0]}-{turn}", *line[1:]] for turn in range(5) for line in distinct]), world
    )[2]
    assert many.suspicion_count == 5 * once.suspicion_count > 100
    first = [(at, label, said) for at, label, _, said in sorted(many.suspicions) if at <= 41]
    assert first == [(at, label, said) for at, label, _, said in sorted(once.suspicions)]


def test_a_file_in_the_wrong_unit_is_looked_through_to_its_last_reading() -> None:
    world = make_world()
    rnd = random.Random(9)
    rows = []
    for number in range(1_000):
        line = row(f"a{number}", rnd.choice(SIZES), off={at: round(rnd.gauss(0, 2)) for at in COLUMNS})
        rows.append([*line[:3], *(float(str(figure)) / 10 for figure in line[3:])])
    report = read_in(csv_of(rows), world, unit=Unit.MM)[2]
    assert report.suspicion_count == 6_000
    assert [line[:3] for line in report.suspicions] == [(0, "file", "")]
    assert "6000 of 6000 figures look like centimetres" in report.suspicions[0][3]
    assert not [remark for remark in report.remarks if "look like slips" in remark]


def scattered(count: int, *, seed: int = 9) -> list[list[object]]:
    rnd = random.Random(seed)
    return [
        row(f"a{number}", rnd.choice(SIZES), off={at: round(rnd.gauss(0, 2)) for at in COLUMNS})
        for number in range(count)
    ]


def in_unit(figure: object, per_unit: float) -> float:
    return round(float(str(figure)) / per_unit, 2)


def test_a_column_in_another_unit_is_one_question_with_the_column_to_change() -> None:
    world = make_world()
    rows = [[*line[:3], in_unit(line[3], 10), *line[4:]] for line in scattered(40)]
    report = read_in(csv_of(rows), world, unit=Unit.MM)[2]
    assert report.suspicion_count == 40
    ((first, label, typed, question),) = report.suspicions
    assert (first, label, typed) == (2, HEADER[3], "")
    assert f"40 of 40 figures of {HEADER[3]} look like centimetres" in question
    assert "choose 'cm' as the unit of this column" in question


def test_rows_in_another_unit_are_one_question_together_and_slips_beside_them_keep_theirs() -> None:
    world = make_world()
    rows = scattered(40)
    for place in (3, 4, 30):
        rows[place][3:] = [in_unit(mm, 25.4) for mm in rows[place][3:]]
    rows[10] = row("slip", off={("WA", "L"): 330})
    report = read_in(csv_of(rows), world, unit=Unit.MM)[2]
    questions = {where: question for _, where, _, question in report.suspicions}
    assert "18 figures in rows 5, 6, 32 look like inches" in questions["3 rows"]
    assert "full girth" in questions["WA L"]
    assert (report.suspicion_count, report.suspicion_lines) == (19, 2)


def test_a_file_in_its_right_unit_is_told_nothing_of_units() -> None:
    world = make_world()
    report = read_in(csv_of(scattered(60)), world, unit=Unit.MM)[2]
    assert not [line for line in report.suspicions if "look like" in line[3]]


def full(line: list[object], places: slice) -> list[object]:
    return [*line[: places.start], *(2 * float(str(mm)) for mm in line[places]), *line[places.stop :]]


GIRTHS = slice(HEADER.index("UB L"), HEADER.index("WA R") + 1)


def test_full_girths_in_place_of_halves_are_one_question_with_the_cure() -> None:
    world = make_world()
    report = read_in(csv_of([full(line, GIRTHS) for line in scattered(40)]), world)[2]
    ((first, where, typed, question),) = report.suspicions
    assert (first, where, typed) == (2, "4 columns", "")
    assert "160 of 160 figures of UB L, UB R, WA L, WA R look like full girths" in question
    assert "Then write half of each into the file and upload it again" in question
    assert report.suspicion_count == 160


def test_rows_of_full_girths_are_one_question_together() -> None:
    world = make_world()
    rows = scattered(40)
    for place in (3, 4, 30):
        rows[place] = full(rows[place], GIRTHS)
    report = read_in(csv_of(rows), world)[2]
    ((first, where, _, question),) = report.suspicions
    assert (first, where) == (5, "3 rows")
    assert "12 figures in rows 5, 6, 32 look like full girths" in question


def test_halves_in_place_of_full_girths_are_told_as_a_whole_too() -> None:
    world = make_world(
        [
            PointRecipe(
                "WA", "waist", kind="full", sides="single", basis="full", nominal_mm=660, asymmetry_mm=None
            )
        ]
    )
    lines = [[f"a{n}", "22", "black", 329 + n % 3] for n in range(9)]
    report = read_in(csv_of(lines, header=["Piece", "Size", "Colour", "WA"]), world)[2]
    (question,) = (line[3] for line in report.suspicions)
    assert "9 of 9 figures of WA look like halves" in question
    assert "both halves together" in question


def test_a_habit_of_the_maker_is_no_slip_in_a_file_either() -> None:
    """A single piece 10 mm off at the waist is asked about; a whole batch that is so is a fact about it."""
    off = {("WA", "L"): 10.0}
    world = make_world()
    alone = read_in(csv_of([row("a", off=off), *(row(f"b{n}") for n in range(9))]), world)[2]
    batch = read_in(csv_of([row(f"a{n}", off=off) for n in range(10)]), world)[2]
    assert (alone.suspicion_count, batch.suspicion_count) == (1, 0)


def test_a_few_slips_are_no_reason_to_doubt_the_unit() -> None:
    world = make_world()
    rows = [row(f"a{n}", off={("WA", "L"): 330} if n < MANY else {}) for n in range(600)]
    report = read_in(csv_of(rows), world)[2]
    assert report.suspicion_count == MANY
    assert not [remark for remark in report.remarks if "look like slips" in remark]


def test_a_point_that_a_size_lacks_has_no_nominal() -> None:
    world = make_world()
    pieces, books, _ = read_in(csv_of([row("a")]), world)

    assert nominals_of(kinds_of(pieces), books, "XX").tolist() == [-1]


def test_storing_asks_for_another_check_when_the_points_changed_meanwhile() -> None:
    from inventory import tasks  # noqa: PLC0415
    from inventory.services.importing import runs  # noqa: PLC0415
    from tests.factories import NOW  # noqa: PLC0415

    world = make_world()
    run = check(upload(csv_of([row("a")]), world), world)
    world.spec.style.points.get(code="WA").save()  # counts the version of the style's points up
    job = runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert (job.state, "Check it again" in job.error) == ("failed", True)
