"""The look along a chart: honest grading is let through, a wrong figure is asked about.

The shares below are measured on the bench of charts with fixed seeds; the bounds are what is promised.
"""

import random

import pytest

from inventory.calc.length import Unit, parse
from inventory.calc.slips import SlipKind
from inventory.calc.slips.charts import (
    Allowance,
    ChartRow,
    Figure,
    look_along,
    odd_allowances,
    odd_step,
    places_of,
    question_of_order,
)
from inventory.calc.slips.kinds import PointKind
from tests.calc.chart_bench import SLIPS, honest_chart, slipped

CHARTS = 600
POINTS = 7
ROWS = 200


def row(
    *typed: str,
    unit: Unit = Unit.MM,
    kind: PointKind = "half",
    step: str = "",
    in_force: tuple[str, ...] = (),
) -> ChartRow:
    """Figures of sizes 20, 22, 24 and so on; an empty text is a missing cell."""
    labels = [str(20 + 2 * place) for place in range(len(typed))]
    places = places_of(labels)
    kept = [place for place, text in enumerate(typed) if text]
    before = {at: parse(text, unit=unit).nm for at, text in enumerate(in_force)}
    figures = [Figure(labels[at], parse(typed[at], unit=unit), before.get(at)) for at in kept]
    stated = parse(step, unit=unit).nm if step else None
    return ChartRow("WA", kind, figures, [places[labels[at]] for at in kept], stated)


def test_honest_charts_raise_no_question_in_99_of_100() -> None:
    rnd = random.Random(20_261_125)
    asked = sum(any(map(look_along, honest_chart(rnd, points=POINTS))) for _ in range(CHARTS))
    assert asked <= CHARTS // 100, asked


@pytest.mark.parametrize("least_sizes", [3, 5])
@pytest.mark.parametrize("kind", SLIPS)
def test_every_kind_of_slip_in_one_random_figure_is_asked_about_in_95_of_100(
    kind: SlipKind, least_sizes: int
) -> None:
    rnd = random.Random(20_261_126)
    caught = named = others = 0
    for _ in range(ROWS):
        case = slipped(rnd, kind, least_sizes=least_sizes)
        odd = {one.size: one for one in look_along(case.row)}
        caught += case.size in odd
        named += case.size in odd and odd[case.size].kind == kind
        others += bool(odd.keys() - {case.size})
    assert caught >= 0.95 * ROWS, caught
    assert named >= 0.88 * ROWS, named
    assert others <= (0.15 if least_sizes == 3 else 0.05) * ROWS, others


@pytest.mark.parametrize(
    "honest",
    [
        row("300", "320", "340", "365", "390"),
        row("300", "320", "345", "370", "395"),
        row("300", "", "340", "365", "", "415"),
        row("330", "355"),
        row("330"),
        row("300", "300", "300", "300"),
        row("300", "300", "305", "305", "310", "310"),
        row("11 1/2", "12 1/2", "13 1/2", "14 3/4", "16", unit=Unit.INCH),
        row("290", "303", "315", "328", "341", "353"),
        row("300", "315", "325", "340", "350", "365"),
        row("420", "400", "380", "360"),
    ],
)
def test_uneven_but_orderly_grading_raises_no_question(honest: ChartRow) -> None:
    assert look_along(honest) == ()


@pytest.mark.parametrize(
    ("wrong", "size", "kind", "truth"),
    [
        (row("29,0", "294", "298"), "20", SlipKind.CM_FOR_MM, "290"),
        (row("290", "29,4", "298"), "22", SlipKind.CM_FOR_MM, "294"),
        (row("304", "329", "345", "379"), "24", SlipKind.SWAPPED_DIGITS, "354"),
        (row("304", "329", "354", "397"), "26", SlipKind.SWAPPED_DIGITS, "379"),
        (row("304", "354.4", "354", "379"), "22", SlipKind.START_MARK_INCH, "329"),
        (row("304", "329", "454", "379"), "24", SlipKind.START_MARK_10CM, "354"),
        (row("304", "329", "708", "379"), "24", SlipKind.FULL_FOR_HALF, "354"),
        (row("608", "658", "354", "758", kind="full"), "24", SlipKind.HALF_FOR_FULL, "708"),
        (row("329", "345", step="25"), "22", SlipKind.SWAPPED_DIGITS, "354"),
        (row("345", in_force=("354",)), "20", SlipKind.SWAPPED_DIGITS, "354"),
        (row("29,0", "29,4", "29,8", in_force=("290", "294", "298")), "22", SlipKind.CM_FOR_MM, "294"),
    ],
)
def test_a_wrong_figure_is_named_with_its_slip_and_what_is_expected(
    wrong: ChartRow, size: str, kind: SlipKind, truth: str
) -> None:
    found = {odd.size: odd for odd in look_along(wrong)}
    assert found[size].kind == kind
    assert found[size].suggestion_nm == parse(truth, unit=Unit.MM).nm
    assert f"Typed {found[size].typed.typed} mm" in found[size].question
    assert found[size].question.endswith(f"{truth} mm?")


def test_a_fraction_typed_as_decimals_is_asked_about_in_a_row_on_the_marks_of_a_tape() -> None:
    (odd,) = look_along(row("11 5/8", "12.58", "13 5/8", unit=Unit.INCH))
    assert odd.question == "Typed 12.58 in. Was the fraction typed as decimals, is it 12 5/8 in?"


def test_decimals_among_decimals_are_no_fraction() -> None:
    assert look_along(row("11.58", "12.58", "13.58", unit=Unit.INCH)) == ()


def test_two_wrong_figures_of_one_row_are_both_asked_about() -> None:
    found = look_along(row("304", "32,9", "354", "379", "404", "492", "454"))
    assert [odd.size for odd in found] == ["22", "30"]


def test_what_no_slip_explains_is_asked_about_only_when_no_honest_step_leads_there() -> None:
    (odd,) = look_along(row("304", "329", "361", "379", "404"))
    assert (odd.size, odd.kind) == ("24", None)
    assert "the other sizes lead to 354 mm. No honest step leads there. Is it meant so?" in odd.question


def test_a_figure_agreed_before_is_not_asked_about_unless_a_slip_explains_it() -> None:
    agreed = ("304", "329", "361", "379", "404")
    assert look_along(row(*agreed, in_force=agreed)) == ()
    swapped = ("304", "329", "345", "379")
    (odd,) = look_along(row(*swapped, in_force=swapped))
    assert "the revision in force has the same figure" in odd.question


def test_a_revision_that_moves_a_whole_row_is_no_slip() -> None:
    assert look_along(row("313", "338", in_force=("304", "329"))) == ()
    assert look_along(row("310", "335", "360", in_force=("304", "329", "354"))) == ()


def test_a_revision_that_corrects_a_slip_is_not_asked_about() -> None:
    assert (
        look_along(row("304", "329", "354", "379", "404", in_force=("304", "329", "345", "379", "404"))) == ()
    )


def test_a_step_for_the_full_girth_is_asked_about_beside_halves() -> None:
    halves = row("304", "329", "354")
    assert "rise by 25 mm. Which of the two is right?" in odd_step(halves, parse("50", unit=Unit.MM))
    assert odd_step(halves, parse("25.4", unit=Unit.MM)) == ""
    assert odd_step(row("304", "329", "359"), parse("25", unit=Unit.MM)) == ""
    assert odd_step(row("304"), parse("25", unit=Unit.MM)) == ""


def test_sizes_are_placed_by_their_labels_whatever_the_order_of_the_columns() -> None:
    assert dict(places_of(["28", "24", "26"])) == {"28": 2.0, "24": 0.0, "26": 1.0}
    assert dict(places_of(["XL", "S", "M", "L"])) == {"XL": 3.0, "S": 0.0, "M": 1.0, "L": 2.0}
    assert dict(places_of(["75A", "75B"])) == {"75A": 0.0, "75B": 1.0}
    assert dict(places_of([])) == {}
    assert dict(places_of(["24", "24.0"])) == {"24": 0.0, "24.0": 1.0}


@pytest.mark.parametrize(
    ("labels", "size", "words"),
    [
        (["28", "26", "24"], "26", "run backwards: 28, 26, 24"),
        (["XL", "L", "M", "S"], "L", "run backwards"),
        (["22", "26", "24", "28"], "24", "Size 24 stands after 26"),
        (["22", "24", "26"], "", ""),
        (["petite", "22"], "", ""),
        (["24"], "", ""),
    ],
)
def test_sizes_that_run_backwards_are_asked_about_once(labels: list[str], size: str, words: str) -> None:
    found = question_of_order(labels)
    assert found[0] == size
    assert words in found[1]


def tolerances(*typed: str, nominal: str = "330", **changes: int) -> list[Allowance]:
    return [
        Allowance(f"P{at}", "", parse(text, unit=Unit.MM), parse(nominal, unit=Unit.MM).nm, **changes)
        for at, text in enumerate(typed)
    ]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (("60", "6", "8", "5"), "the other points have about 6 mm"),
        (("0.6", "6", "8", "5"), "the other points have about 6 mm"),
        (("330", "6", "8"), "as much as the nominal 330 mm itself"),
        (("90",), "more than a quarter of the nominal 330 mm"),
    ],
)
def test_a_tolerance_out_of_proportion_is_asked_about(typed: tuple[str, ...], words: str) -> None:
    ((one, question),) = odd_allowances(tolerances(*typed))
    assert one.code == "P0"
    assert words in question


@pytest.mark.parametrize("typed", [("3", "6", "10", "15"), ("0", "6", "6"), ("6",), (), ("2", "8", "8")])
def test_tolerances_in_proportion_are_let_through(typed: tuple[str, ...]) -> None:
    assert odd_allowances(tolerances(*typed)) == ()


def test_a_tolerance_for_the_full_girth_counts_half() -> None:
    assert odd_allowances([*tolerances("6", "6", "5"), *tolerances("25", share=2)]) == ()


def test_a_tolerance_is_compared_with_the_revision_in_force() -> None:
    ((_, question),) = odd_allowances(tolerances("40", in_force_nm=6_000_000))
    assert "the revision in force has 6 mm" in question
    assert odd_allowances(tolerances("90", in_force_nm=90_000_000)) == ()
