"""Points that one reading seldom settles: who is warned, and that what the warning says holds."""

import re
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.conformity import DEFAULT_SHELF, Verdict, decide, guard_nm
from inventory.calc.length import Display, Unit, parse
from inventory.calc.setup_checks import WarningKind, judgeable
from inventory.calc.setup_narrow import narrow
from inventory.calc.symmetry import PairLimit
from inventory.calc.uncertainty import of_mean
from tests.calc.plans import MM, half, length

IN_MM, IN_INCHES = Display(Unit.MM), Display(Unit.INCH, 8)
QUARTER = 6_350_000


def test_a_band_over_half_of_the_tolerance_says_how_near_to_nominal_one_reading_is_enough() -> None:
    """1.645 × 2.5 mm = 4.1 mm of 1/4 in: 2.2 mm are left, which is 1/16 in and a bit."""
    plan = length(minus_nm=QUARTER, plus_nm=QUARTER, sd_nm=2_500_000)
    (warning,) = narrow(plan, DEFAULT_SHELF, display=IN_INCHES)
    assert warning.kind is WarningKind.REPEATS_USUAL
    assert "only within 1/16 in of nominal is a side in tolerance at one reading" in warning.message
    assert "the guard band of 0.17 in takes more than half of the ±1/4 in" in warning.message


def test_a_strip_too_narrow_for_a_mark_of_the_tape_is_nominal_itself() -> None:
    plan = length(minus_nm=QUARTER // 2, plus_nm=QUARTER // 2, sd_nm=1_500_000)
    (warning,) = narrow(plan, DEFAULT_SHELF, display=IN_INCHES)
    assert "only exactly at nominal is a side in tolerance at one reading" in warning.message


def test_half_of_the_tolerance_and_less_gives_no_warning() -> None:
    """1.645 × 1 mm against half of 3.29 mm: the band takes just half."""
    plan = length(minus_nm=3_290_000, plus_nm=3_290_000, sd_nm=MM)
    assert narrow(plan, DEFAULT_SHELF, display=IN_MM) == ()
    assert narrow(replace(plan, minus_nm=3_289_998, plus_nm=3_289_998), DEFAULT_SHELF, display=IN_MM)


def test_what_no_single_reading_settles_is_left_to_the_other_warning() -> None:
    plan = length(minus_nm=3 * MM, plus_nm=3 * MM, sd_nm=2 * MM)
    assert judgeable(plan, DEFAULT_SHELF, display=IN_MM)
    assert narrow(plan, DEFAULT_SHELF, display=IN_MM) == ()


def test_left_against_right_is_told_in_its_own_words() -> None:
    plan = length(paired=True, minus_nm=20 * MM, plus_nm=20 * MM, sd_nm=2 * MM, pair_limit=PairLimit(6 * MM))
    (warning,) = narrow(plan, DEFAULT_SHELF, display=IN_MM)
    assert "only within 1.3 mm of each other do left and right match at one reading" in warning.message


def test_a_full_girth_is_told_as_such() -> None:
    (warning,) = narrow(half(basis="full", tolerance_nm=8 * MM, sd_nm=2 * MM), DEFAULT_SHELF, display=IN_MM)
    assert "is the full girth in tolerance" in warning.message


def test_unequal_sides_are_told_with_their_signs_or_that_nominal_is_too_near() -> None:
    plan = length(minus_nm=4 * MM, plus_nm=6 * MM, sd_nm=2 * MM)
    (warning,) = narrow(plan, DEFAULT_SHELF, display=IN_MM)
    assert "only from −0.7 mm to +2.7 mm off nominal is a side in tolerance" in warning.message
    (warning,) = narrow(replace(plan, minus_nm=2 * MM), DEFAULT_SHELF, display=IN_MM)
    assert "not even at nominal is a side in tolerance at one reading" in warning.message


@given(
    nominal_nm=st.integers(50 * MM, 900 * MM),
    sd_nm=st.integers(100_000, 4 * MM),
    percent_of_band=st.integers(101, 198),
    display=st.sampled_from([IN_MM, IN_INCHES]),
)
def test_one_reading_passes_as_near_as_said_and_no_longer_a_step_further(
    nominal_nm: int, sd_nm: int, percent_of_band: int, display: Display
) -> None:
    tolerance_nm = guard_nm(sd_nm, DEFAULT_SHELF) * percent_of_band // 100
    plan = length(nominal_nm=nominal_nm, minus_nm=tolerance_nm, plus_nm=tolerance_nm, sd_nm=sd_nm)
    (warning,) = narrow(plan, DEFAULT_SHELF, display=display)
    found = re.search("only (?:exactly at|within (.+?) of) nominal", warning.message)
    assert found is not None
    near_nm = parse(found[1] or "0", unit=display.unit).nm
    step_nm = 100_000 if display is IN_MM else 793_750

    def verdict(off_nm: int) -> Verdict:
        u_nm = of_mean(plan.error, readings=1)
        return decide(nominal_nm + off_nm, plan.limits, u_nm=u_nm, rule=DEFAULT_SHELF).verdict

    assert verdict(near_nm) is verdict(-near_nm) is Verdict.IN
    assert verdict(near_nm + step_nm) is not Verdict.IN
