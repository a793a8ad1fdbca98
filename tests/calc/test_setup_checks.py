"""Warnings at set-up: sizes that run into each other, and points that no single reading can settle."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.judging import Taken, judge_point
from inventory.calc.length import Display, Unit
from inventory.calc.plan import PointPlan
from inventory.calc.setup_checks import SizeRow, WarningKind, judgeable, overlap
from inventory.calc.symmetry import PairLimit
from tests.calc.plans import INCH, MM, half, length, point_plans

IN_MM = Display(Unit.MM)
IN_EIGHTHS = Display(Unit.INCH, 8)


def rows(*nominals_mm: int, minus_mm: int, plus_mm: int) -> list[SizeRow]:
    return [
        SizeRow(str(number), nominal * MM, minus_mm * MM, plus_mm * MM)
        for number, nominal in enumerate(nominals_mm)
    ]


def test_a_tolerance_under_half_the_grade_step_gives_no_warning() -> None:
    assert overlap("WA", rows(330, 355, 380, minus_mm=12, plus_mm=12), display=IN_MM) == ()


def test_limits_that_meet_and_limits_that_cross_are_told_apart() -> None:
    (meet,) = overlap("WA", rows(330, 354, minus_mm=12, plus_mm=12), display=IN_MM)
    (cross,) = overlap("WA", rows(330, 353, minus_mm=12, plus_mm=12), display=IN_MM)
    assert (meet.kind, meet.sizes) == (WarningKind.MEET, ("0", "1"))
    assert cross.kind is WarningKind.CROSS
    assert "0 ends at 342 mm, 1 begins at 341 mm" in cross.message


def test_a_one_inch_step_is_too_small_for_half_an_inch_either_way() -> None:
    chart = [SizeRow("22", 22 * INCH, INCH // 2, INCH // 2), SizeRow("23", 23 * INCH, INCH // 2, INCH // 2)]
    (warning,) = overlap("WA", chart, display=IN_EIGHTHS)
    assert warning.kind is WarningKind.MEET
    assert (
        "The step is 1 in; keep plus of 22 and minus of 23 together under it (now 1 in)." in warning.message
    )


def test_plus_and_minus_may_share_the_step_unequally() -> None:
    chart = [SizeRow("S", 330 * MM, 4 * MM, 15 * MM), SizeRow("M", 350 * MM, 4 * MM, 15 * MM)]
    assert overlap("WA", chart, display=IN_MM) == ()
    wider = [chart[0], replace(chart[1], minus_nm=6 * MM)]
    assert overlap("WA", wider, display=IN_MM)[0].kind is WarningKind.CROSS


def test_a_length_that_is_the_same_in_every_size_gives_no_warning() -> None:
    assert overlap("CF", rows(320, 320, 320, minus_mm=5, plus_mm=5), display=IN_MM) == ()


@pytest.mark.parametrize("count", [0, 1])
def test_one_size_or_none_has_no_neighbour(count: int) -> None:
    assert overlap("WA", rows(*[330] * count, minus_mm=50, plus_mm=50), display=IN_MM) == ()


def test_a_chart_listed_from_large_to_small_warns_all_the_same() -> None:
    small, large = rows(330, 353, minus_mm=12, plus_mm=12)
    assert overlap("WA", [large, small], display=IN_MM) == overlap("WA", [small, large], display=IN_MM)


def test_a_signed_tolerance_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Tolerance of size M"):
        SizeRow("M", 330 * MM, -6 * MM, 6 * MM)


def test_a_point_that_one_reading_settles_gives_no_warning() -> None:
    assert judgeable(half(pair_limit=PairLimit(6 * MM)), DEFAULT_SHELF, display=IN_MM) == ()


def test_a_tight_point_says_how_many_repeats_it_needs() -> None:
    """±3 mm, SD 2 mm: bands of 3.29, 2.33 mm for one and two readings."""
    plan = length(minus_nm=3 * MM, plus_nm=3 * MM, sd_nm=2 * MM)
    (warning,) = judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    assert (warning.kind, warning.repeats) == (WarningKind.REPEATS_NEEDED, 2)
    assert "guard band of 3.3 mm leaves nothing of the ±3 mm. The mean of 2 readings can." in warning.message


def test_a_guard_band_of_exactly_the_tolerance_leaves_nothing() -> None:
    plan = length(minus_nm=2 * MM, plus_nm=2 * MM, sd_nm=MM)
    (warning,) = judgeable(plan, DEFAULT_CLAIM, display=IN_MM)
    assert warning.repeats == 2


def test_a_habit_is_cured_by_other_people_not_by_repeats() -> None:
    plan = length(minus_nm=3 * MM, plus_nm=3 * MM, sd_nm=0, person_sd_nm=2 * MM)
    (warning,) = judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    assert warning.repeats == 2
    assert "2 readings by 2 different people can; repeats by one cannot" in warning.message


def test_a_hopeless_point_says_that_no_repeats_help() -> None:
    plan = length(minus_nm=MM, plus_nm=MM, sd_nm=3 * MM)
    (warning,) = judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    assert (warning.kind, warning.repeats) == (WarningKind.NEVER_JUDGEABLE, None)
    assert "No mean of up to 4 readings can either" in warning.message


def test_unequal_tolerances_are_shown_as_they_are() -> None:
    plan = length(minus_nm=2 * MM, plus_nm=4 * MM, sd_nm=2 * MM)
    (warning,) = judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    assert "nothing of the −2 mm to +4 mm" in warning.message


def test_a_left_right_limit_has_a_warning_of_its_own() -> None:
    """3 mm between the sides at SD 2 mm: 1.645 × 2 × √2 = 4.7 mm; three readings a side give 2.7 mm."""
    plan = length(paired=True, minus_nm=6 * MM, plus_nm=6 * MM, sd_nm=2 * MM, pair_limit=PairLimit(3 * MM))
    (warning,) = judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    assert "whether left and right match: the guard band of 4.7 mm" in warning.message
    assert warning.repeats == 3


def test_a_tolerance_for_the_full_girth_is_checked_on_the_full_girth() -> None:
    """Full ±4 mm, SD 2 mm: √2 × 2 × 1.645 = 4.65 mm for left plus right, 2 × 2 × 1.645 = 6.58 mm doubled."""
    halves = half(basis="full", tolerance_nm=4 * MM, sd_nm=2 * MM)
    (paired,) = judgeable(halves, DEFAULT_SHELF, display=IN_MM)
    (single,) = judgeable(replace(halves, paired=False), DEFAULT_SHELF, display=IN_MM)
    assert "full girth" in paired.message
    assert "4.7 mm" in paired.message
    assert "6.6 mm" in single.message
    assert (paired.repeats, single.repeats) == (2, 3)


@given(plan=point_plans(), tolerance_nm=st.integers(0, 12 * MM))
def test_no_warning_means_that_a_perfect_piece_is_called_in_at_once(
    plan: PointPlan, tolerance_nm: int
) -> None:
    plan = replace(plan, minus_nm=tolerance_nm, plus_nm=tolerance_nm)
    warnings = judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    taken: dict[str, Taken] = {side: Taken(plan.nominal_nm) for side in plan.sides}
    found = judge_point(plan, taken, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
    settled = all(f.shelf is Verdict.IN for f in found if f.deciding)
    if not warnings:
        assert settled
    if not settled:
        assert warnings


@given(plan=point_plans(), tolerance_nm=st.integers(1, 12 * MM))
def test_the_repeats_a_warning_names_are_enough(plan: PointPlan, tolerance_nm: int) -> None:
    plan = replace(plan, minus_nm=tolerance_nm, plus_nm=tolerance_nm)
    warnings = judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    named = [warning.repeats for warning in warnings]
    if not named or None in named:
        return
    readings = max(repeats for repeats in named if repeats is not None)
    rule = replace(DEFAULT_SHELF, max_repeats=99)  # so that no plain comparison steps in
    taken: dict[str, Taken] = {side: Taken(plan.nominal_nm, readings, readings) for side in plan.sides}
    found = judge_point(plan, taken, shelf=rule, claim=DEFAULT_CLAIM)
    assert all(f.shelf is Verdict.IN for f in found if f.deciding)
