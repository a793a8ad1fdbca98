"""What the trade takes for granted. Common practice, no source, unless a check says otherwise."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc import geometry, uncertainty
from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Limits, Verdict, guard_nm, probability_in
from inventory.calc.judging import Aspect, Finding, PointPlan, Taken, judge_piece, judge_point
from inventory.calc.length import Display, Unit, parse
from inventory.calc.setup_checks import SizeRow, WarningKind, judgeable, overlap
from inventory.calc.symmetry import PairLimit
from inventory.calc.uncertainty import ReadingError
from tests.calc.plans import MM, half, length
from tests.closeness import to_printed_digits


def inches(text: str) -> int:
    return parse(text, unit=Unit.INCH).nm


QUARTER_OR_HALF_ROOMY = PairLimit(inches("1/4"), favourable_limit_nm=inches("1/2"), favourable_side="plus")
"""A quarter inch between halves; up to half an inch where the larger half is to the buyer's advantage."""


def pair(left: str, right: str, *, sd_nm: int) -> Finding:
    """Left against right on a half of 13 inches, with lengths as typed."""
    plan = half(
        nominal_nm=inches("13"), tolerance_nm=inches("2"), pair_limit=QUARTER_OR_HALF_ROOMY, sd_nm=sd_nm
    )
    taken = {"L": Taken(inches(left)), "R": Taken(inches(right))}
    found = judge_point(plan, taken, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
    (finding,) = [finding for finding in found if finding.aspect is Aspect.PAIR]
    return finding


SMALL_ERROR = MM // 2


def test_half_readings_are_doubled() -> None:
    """Common practice, no source: a garment laid closed reads half, the full girth is twice that."""
    (_, full) = judge_point(
        half(paired=False), {"S": Taken(331 * MM)}, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM
    )
    assert (full.aspect, full.value_nm) == (Aspect.FULL, 662 * MM)


def test_two_halves_are_added() -> None:
    """Common practice, no source: a laced garment is read half by half."""
    taken = {"L": Taken(331 * MM), "R": Taken(328 * MM)}
    (*_, full) = judge_point(half(), taken, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
    assert (full.aspect, full.value_nm) == (Aspect.FULL, 659 * MM)


@pytest.mark.parametrize(("left", "right"), [("13 1/4", "13"), ("13", "12 3/4"), ("13 1/8", "12 7/8")])
def test_a_quarter_inch_between_halves_is_accepted(left: str, right: str) -> None:
    """Common practice, no source. Exactly a quarter, read without error."""
    assert pair(left, right, sd_nm=0).shelf is Verdict.IN


def test_three_sixteenths_are_accepted_even_with_a_small_reading_error() -> None:
    """Common practice, no source: within the quarter inch by more than the guard band of an SD of 0.5 mm."""
    assert pair("13", "12 13/16", sd_nm=SMALL_ERROR).shelf is Verdict.IN
    assert pair("13", "12 3/4", sd_nm=SMALL_ERROR).shelf is Verdict.CLOSE


def test_half_an_inch_is_accepted_where_it_is_to_the_buyer_s_advantage() -> None:
    """Common practice, no source. Here the roomier half is the one that is off."""
    assert pair("13 1/2", "13", sd_nm=0).shelf is Verdict.IN
    assert pair("13", "13 7/16", sd_nm=SMALL_ERROR).shelf is Verdict.IN


def test_half_an_inch_is_refused_where_it_is_not() -> None:
    """Common practice, no source. Here the tighter half is the one that is off."""
    assert pair("13", "12 1/2", sd_nm=SMALL_ERROR).shelf is Verdict.OUT


@pytest.mark.parametrize(("left", "right"), [("14", "13"), ("13", "12"), ("13", "14")])
@pytest.mark.parametrize("sd_nm", [0, SMALL_ERROR, 2 * MM])
def test_an_inch_between_halves_is_sent_back(left: str, right: str, sd_nm: int) -> None:
    """Common practice, no source: whichever half is off, and proved even with a coarse tape."""
    finding = pair(left, right, sd_nm=sd_nm)
    assert finding.shelf is Verdict.OUT
    assert finding.claim is Verdict.OUT


def test_a_piece_in_tolerance_on_both_sides_can_still_fail_for_twist() -> None:
    """Common practice, no source: left +6, right −6 mm is 12 mm apart."""
    plan = half(pair_limit=PairLimit(6 * MM), sd_nm=0)
    taken = {("WA", "L"): Taken(336 * MM), ("WA", "R"): Taken(324 * MM)}
    judged = judge_piece([plan], taken, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
    sides = [f for f in judged.findings["WA"] if f.aspect is not Aspect.PAIR]
    assert all(finding.shelf is Verdict.IN for finding in sides)
    assert (judged.shelf, judged.worst_aspect) == (Verdict.OUT, Aspect.PAIR)


@given(straight=st.integers(1, 2_000 * MM), rise=st.integers(-500 * MM, 500 * MM))
def test_a_slanted_tape_never_reads_short(straight: int, rise: int) -> None:
    """Common practice, no source; by the triangle it cannot."""
    assert geometry.slanted_reading(straight, rise_nm=rise) >= straight


@pytest.mark.parametrize("text", ["1/4", "0.25 in", "6.35 mm", "0,635 cm"])
def test_a_quarter_inch_of_tolerance_is_six_point_three_five_millimetres(text: str) -> None:
    """Common practice, no source: a maker who works in inches is held to 6.35 mm, not to 6."""
    limit = inches(text)
    plan = length(minus_nm=limit, plus_nm=limit, sd_nm=0)
    for off, verdict in ((6_350_000, Verdict.IN), (6_350_001, Verdict.OUT)):
        (found,) = judge_point(
            plan, {"S": Taken(plan.nominal_nm + off)}, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM
        )
        assert found.shelf is verdict


@pytest.mark.parametrize(("off_mm", "inside"), [(7, True), (5, False)])
def test_one_millimetre_past_or_short_of_the_limit_plain_comparison_errs_in_thirty_one_of_a_hundred(
    *, off_mm: int, inside: bool
) -> None:
    """Computed: ±6 mm, SD 2 mm; 7 mm off is passed and 5 mm off is failed 31 % of the time."""
    called_in = probability_in(off_mm * MM, Limits(-6 * MM, 6 * MM), u_nm=2.0 * MM)
    assert to_printed_digits(called_in if inside else 1 - called_in, "0.31")


@pytest.mark.parametrize(("sd_mm", "printed"), [(1.0, "1.6"), (1.5, "2.5"), (2.0, "3.3"), (3.0, "4.9")])
def test_guard_bands_for_the_usual_reading_errors(sd_mm: float, printed: str) -> None:
    """Computed: 1.645 × SD in mm."""
    assert to_printed_digits(guard_nm(sd_mm * MM, DEFAULT_SHELF) / MM, printed)


@pytest.mark.parametrize(("sd_mm", "printed"), [(1, "2.8"), (2, "5.5")])
def test_smaller_left_right_differences_cannot_be_told_from_none(sd_mm: int, printed: str) -> None:
    """Computed: 1.96 × √2 × SD in mm."""
    u_nm = uncertainty.of_difference(ReadingError(sd_mm * MM, 0), left_readings=1, right_readings=1)
    assert to_printed_digits(uncertainty.expanded(u_nm, 1.96) / MM, printed)


def test_reading_both_halves_is_better_than_doubling_one() -> None:
    """Computed: √2 against 2 standard deviations, before the unread half is even in doubt."""
    error = ReadingError(MM, 0)
    both = uncertainty.of_full_from_halves(error, left_readings=1, right_readings=1)
    one = uncertainty.of_full_from_one_half(error, readings=1, pair_sd_nm=0)
    assert to_printed_digits(both / MM, "1.41")
    assert to_printed_digits(one / MM, "2.00")


def test_a_one_inch_step_needs_a_full_girth_tolerance_under_half_an_inch() -> None:
    """Common practice, no source: keep it under ±12.7 mm; ±10 mm is recommended."""
    display = Display(Unit.MM)

    def chart(tolerance_nm: int) -> list[SizeRow]:
        return [SizeRow(str(n), n * inches("1"), tolerance_nm, tolerance_nm) for n in (22, 23, 24)]

    assert overlap("WA", chart(10 * MM), display=display) == ()
    warnings = overlap("WA", chart(12_700_000), display=display)
    assert [warning.kind for warning in warnings] == [WarningKind.MEET, WarningKind.MEET]


def test_a_guard_band_as_wide_as_the_tolerance_is_said_at_set_up() -> None:
    """Common practice, no source: ±3 mm on a half hip read with SD 2 mm cannot be judged by one reading."""
    plan: PointPlan = replace(half("HH", tolerance_nm=3 * MM), error=ReadingError(2 * MM, 0))
    (warning,) = judgeable(plan, DEFAULT_SHELF, display=Display(Unit.MM))
    assert warning.repeats == 2


def test_four_readings_halve_a_guard_band() -> None:
    """Common practice, no source: repeat at most four times; the band shrinks by √n."""
    error = ReadingError(2 * MM, 0)
    one, four = (guard_nm(uncertainty.of_mean(error, readings=n), DEFAULT_SHELF) for n in (1, 4))
    assert one == 2 * four
    assert DEFAULT_SHELF.max_repeats == 4
