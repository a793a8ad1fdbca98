"""A spec sheet asks about figures that look like slips, and is drafted only when they were accepted."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest

from inventory import tasks
from inventory.models import ImportRun, Spec, SpecCell, Style, User
from inventory.models.people import Role
from inventory.services.importing import runs
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.importing.refusals import SuspicionsOpen
from tests.factories import LACED, NOW, PointRecipe, make_spec, make_style, make_user
from tests.inventory.services.importing.files_of_pieces import csv_of

pytestmark = pytest.mark.django_db

HEAD = [
    "Point",
    "Basis",
    "Minus",
    "Plus",
    "Left-right limit",
    "Step",
    "size 22",
    "size 24",
    "size 26",
    "size 28",
]
UB = ["UB", "half", "8", "8", "8", "", "380", "405", "430", "455"]
WA = ["WA", "half", "6", "6", "6", "", "304", "329", "354", "379"]
HH = ["HH", "half", "10", "10", "8", "", "440", "465", "490", "520"]
CF = ["CF", "", "5", "5", "3", "", "300", "305", "305", "310"]


@dataclass
class Desk:
    """Who brings the sheets of a style in."""

    owner: User
    style: Style

    def check(self, *rows: list[str], head: list[str] = HEAD) -> ImportRun:
        run = runs.upload_file(
            kind="spec", name="sheet.csv", content=csv_of(rows, header=head), by=self.owner, at=NOW
        )
        mapping = replace(TableMapping.from_json(run.mapping), target=Target(style=self.style.code))
        runs.choose_mapping(run=run, mapping=mapping, by=self.owner)
        tasks.execute(runs.request_check(run=run, by=self.owner).pk)
        run.refresh_from_db()
        assert run.state == ImportRun.State.CHECKED
        return run

    def asked(self, *rows: list[str], head: list[str] = HEAD) -> list[list[object]]:
        run = self.check(*rows, head=head)
        assert run.report["counts"]["errors"] == 0, run.report["errors"]
        return list(run.report["suspicious"])


@pytest.fixture
def desk() -> Desk:
    return Desk(make_user(Role.OWNER), make_style([*LACED, PointRecipe("HH", "half high hip")]))


def with_cell(row: list[str], column: str, typed: str) -> list[str]:
    return [typed if name == column else cell for name, cell in zip(HEAD, row, strict=True)]


def test_an_honest_sheet_raises_no_question(desk: Desk) -> None:
    assert desk.asked(UB, WA, HH, CF) == []


def test_swapped_digits_are_asked_about_by_cell_figure_and_what_is_expected(desk: Desk) -> None:
    assert desk.asked(UB, with_cell(WA, "size 26", "345")) == [
        [
            3,
            "WA, size 26",
            "345",
            "Typed 345 mm, but the other sizes lead to 354 mm. Are two figures swapped, is it 354 mm?",
        ]
    ]


def test_centimetres_among_millimetres_are_asked_about(desk: Desk) -> None:
    head = [*HEAD[:6], "size 22", "size 24", "size 26"]
    ((row, where, typed, question),) = desk.asked(
        ["CF", "", "5", "5", "3", "", "29,0", "294", "298"], head=head
    )
    assert (row, where, typed) == (2, "CF, size 22", "29,0")
    assert str(question).endswith("Was it 29 centimetres, so 290 mm?")


def test_with_one_figure_a_line_the_row_of_the_figure_is_named(desk: Desk) -> None:
    lines = [["WA", size, typed, "6"] for size, typed in zip(("22", "24", "26", "28"), WA[6:], strict=True)]
    lines[2][2] = "345"
    ((row, where, typed, _),) = desk.asked(*lines, head=["Point", "Size", "Nominal", "Tolerance"])
    assert (row, where, typed) == (4, "WA, size 26", "345")


@pytest.mark.parametrize(
    ("column", "typed", "where", "words"),
    [
        ("Minus", "60", "HH, minus", "the other points have about 6 mm"),
        ("Plus", "0,6", "HH, plus", "the other points have about 6 mm"),
        ("Plus", "500", "HH, plus", "as much as the nominal 440 mm itself"),
        ("Left-right limit", "80", "HH, left-right limit", "the other points have about 6 mm"),
        ("Step", "2,5", "HH, grade step", "rise by 25 mm to 30 mm. Which of the two is right?"),
    ],
)
def test_tolerances_limits_and_steps_out_of_proportion_are_asked_about(
    desk: Desk, column: str, typed: str, where: str, words: str
) -> None:
    ((row, told, figure, question),) = desk.asked(UB, WA, with_cell(HH, column, typed), CF)
    assert (row, told, figure) == (4, where, typed)
    assert words in str(question)


def test_one_column_for_both_tolerances_is_one_question(desk: Desk) -> None:
    head = ["Point", "Tolerance", "size 22", "size 24"]
    rows = [
        [code, tolerance, "300", "325"]
        for code, tolerance in zip(("UB", "WA", "HH"), ("60", "6", "8"), strict=True)
    ]
    ((_, where, typed, _),) = desk.asked(*rows, head=head)
    assert (where, typed) == ("UB, tolerance", "60")


def test_sizes_that_run_backwards_are_asked_about_at_the_header(desk: Desk) -> None:
    head = [*HEAD[:6], *reversed(HEAD[6:])]
    rows = [[*row[:6], *reversed(row[6:])] for row in (UB, WA)]
    ((row, where, _, question),) = desk.asked(*rows, head=head)
    assert (row, where) == (1, "size 26")
    assert "The sizes run backwards: 28, 26, 24, 22." in str(question)


def test_the_revision_in_force_tells_what_the_other_sizes_cannot() -> None:
    spec = make_spec()
    desk = Desk(make_user(Role.OWNER), spec.style)
    cell = SpecCell.objects.filter(spec_point__spec=spec, spec_point__point__code="WA").order_by("pk")[0]
    size = cell.size.label
    in_cm = f"{cell.nominal_nm / 10_000_000:g}"
    asked = desk.asked(["WA", "6", in_cm], head=["Point", "Tolerance", f"size {size}"])
    assert [where for _, where, _, _ in asked] == [f"WA, size {size}"]
    assert f"the revision in force has {cell.nominal_nm // 1_000_000} mm" in str(asked[0][3])


def test_a_sheet_in_another_unit_is_told_as_a_whole_too() -> None:
    spec = make_spec()
    cells = SpecCell.objects.filter(spec_point__spec=spec).order_by("size__position", "pk")
    sizes = list(dict.fromkeys(cell.size.label for cell in cells.select_related("size")))
    rows: dict[str, list[str]] = {}
    for cell in cells.select_related("spec_point__point"):
        rows.setdefault(cell.spec_point.point.code, []).append(f"{cell.nominal_nm / 10_000_000:g}")
    run = Desk(make_user(Role.OWNER), spec.style).check(
        *([code, "0.6", *figures] for code, figures in rows.items()),
        head=["Point", "Tolerance", *(f"size {size}" for size in sizes)],
    )
    assert any("Are unit, columns and style right?" in remark for remark in run.report["remarks"])


def test_a_sheet_with_suspicious_figures_is_drafted_as_typed_once_they_are_accepted(desk: Desk) -> None:
    run = desk.check(UB, with_cell(WA, "size 26", "345"))
    with pytest.raises(SuspicionsOpen, match="1 cell looks like a slip"):
        runs.request_store(run=run, accept_suspicious=False, by=desk.owner, at=NOW)
    assert not Spec.objects.exists()
    job = runs.request_store(run=run, accept_suspicious=True, by=desk.owner, at=NOW)
    tasks.execute(job.pk)
    cell = SpecCell.objects.get(spec_point__point__code="WA", size__label="26")
    assert cell.nominal_nm == 345_000_000


def test_other_questions_than_those_accepted_are_asked_first(desk: Desk) -> None:
    run = desk.check(["WA", *UB[1:5], "", "345"], head=HEAD[:7])
    assert run.report["suspicious"] == []
    make_spec(desk.style, sizes=("22",), points=[PointRecipe("WA", "half waist", nominal_mm=354)])
    job = runs.request_store(run=run, accept_suspicious=False, by=desk.owner, at=NOW)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert "Other cells look like slips now than at the check" in job.error
    assert not Spec.objects.filter(state=Spec.State.DRAFT).exists()


def test_more_sizes_than_a_run_has_are_told_and_not_compared(desk: Desk) -> None:
    lines = [["WA", f"{size}", f"{300 + size}", "6"] for size in range(1, 60)]
    run = desk.check(*lines, head=["Point", "Size", "Nominal", "Tolerance"])
    assert any("59 sizes are more than a run has" in remark for remark in run.report["remarks"])
    assert run.report["suspicious"] == []


def test_figures_with_errors_are_left_to_their_errors(desk: Desk) -> None:
    run = desk.check(UB, with_cell(WA, "size 26", "soon"), with_cell(HH, "size 24", "0"))
    assert run.report["counts"]["errors"] == 2
    assert run.report["suspicious"] == []
