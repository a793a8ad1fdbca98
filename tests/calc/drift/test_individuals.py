"""The check garment's chart: verdicts, false alarms as promised, and what must always hold."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from inventory.calc.drift.control_limits import natural_limits, prediction_factor, run_that_signals
from inventory.calc.drift.individuals import Chart, KnownSpread, Steadiness, individuals_chart
from inventory.calc.errors import ImpossibleInput
from tests.calc.plans import MM
from tests.closeness import same_float

STEADY = [mm * MM for mm in (330, 331, 330, 329, 330, 331, 330, 329, 331, 330)]
figures = st.lists(st.integers(3250, 3350).map(lambda tenths: tenths * MM // 10), min_size=6, max_size=25)


def chart(*more: int, known: KnownSpread | None = None) -> Chart:
    return individuals_chart([*STEADY, *(mm * MM for mm in more)], known=known)


def test_a_steady_garment_is_steady() -> None:
    found = chart(330, 331)
    assert found.verdict is Steadiness.STEADY
    assert found.baseline == 10
    assert found.reason.startswith("The check garment reads 331.0 mm; between 32")
    assert found.reason.endswith("was to be expected.")
    assert [point.baseline for point in found.points] == [True] * 10 + [False] * 2


def test_a_figure_outside_says_that_our_measuring_has_moved() -> None:
    found = chart(330, 335)
    assert found.verdict is Steadiness.MOVED
    assert found.verdict.label == "our measuring has moved"
    assert "Check tape and hands before any maker is blamed." in found.reason
    assert [point.outside for point in found.points[-2:]] == [False, True]
    # Only the last figure counts for the verdict; the one before stays marked.
    assert chart(335, 330).verdict is Steadiness.STEADY
    assert chart(335, 330).points[-2].signals


def test_a_long_run_on_one_side_says_so_too() -> None:
    length = chart().run_length
    assert length is None or length > 1
    needed = run_that_signals(10, false_alarm=0.005)
    almost, enough = chart(*[331] * (needed - 1)), chart(*[331] * needed)
    assert almost.verdict is Steadiness.STEADY
    assert enough.verdict is Steadiness.MOVED
    assert not enough.points[-1].outside
    assert f"The last {needed} figures all lie above the usual 330.1 mm." in enough.reason
    assert chart(*[331] * needed, 329, 331).verdict is Steadiness.STEADY
    assert "below" in chart(*[329] * needed).reason


def test_a_figure_on_the_mean_ends_a_run() -> None:
    values = [mm * MM for mm in (329, 331) * 5]
    found = individuals_chart([*values, *[331 * MM] * 4, 330 * MM, 331 * MM])
    assert [point.run for point in found.points[-6:]] == [1, 2, 3, 4, 0, 1]


def test_few_sittings_are_not_enough_yet_and_said_how_many_are_missing() -> None:
    assert individuals_chart([]).verdict is Steadiness.TOO_FEW
    found = individuals_chart(STEADY[:4])
    assert (found.verdict, found.limits, found.run_length) == (Steadiness.TOO_FEW, None, None)
    assert found.reason == "2 more sittings are needed before this can tell."
    assert individuals_chart(STEADY[:5]).reason.startswith("1 more sitting is needed")
    assert [point.moving_range_nm for point in found.points] == [None, MM, MM, MM]
    assert individuals_chart(STEADY[:6]).verdict is Steadiness.STEADY


def test_a_shift_while_the_baseline_grows_is_not_taken_for_the_usual() -> None:
    """Measuring that moved at the seventh sitting and stays there is said to have moved at each one after."""
    moved = [*STEADY[:6], *[mm * MM for mm in (338, 337, 339, 338, 337, 338, 338)]]
    for sittings in range(7, len(moved) + 1):
        found = individuals_chart(moved[:sittings])
        assert found.verdict is Steadiness.MOVED
        assert found.baseline == 6
    # Back at the old place it is steady again, and the baseline grows on without the figures in between.
    back = individuals_chart([*moved, *[mm * MM for mm in (330, 331, 330, 329, 330)]])
    assert back.verdict is Steadiness.STEADY
    assert [point.baseline for point in back.points] == [True] * 6 + [False] * 7 + [True] * 4 + [False]
    assert back.mean_nm == statistics.fmean([*STEADY[:6], *[mm * MM for mm in (330, 331, 330, 329)]])


def test_with_a_study_two_sittings_are_enough() -> None:
    known = KnownSpread(0.8 * MM, 20)
    assert individuals_chart(STEADY[:2], known=known).verdict is Steadiness.TOO_FEW
    assert individuals_chart(STEADY[:3], known=known).verdict is Steadiness.STEADY
    assert individuals_chart([*STEADY[:2], 340 * MM], known=known).verdict is Steadiness.MOVED


def test_a_studys_spread_and_the_baselines_come_together() -> None:
    own = statistics.stdev(STEADY)
    found = chart(330, known=KnownSpread(1.0 * MM, 6))
    assert found.sd_nm is not None
    assert same_float(found.sd_nm, math.sqrt((6 * (1.0 * MM) ** 2 + 9 * own**2) / 15))
    assert found.dof == 15
    sure = chart(330, known=KnownSpread(1.0 * MM, None))
    assert (sure.sd_nm, sure.dof) == (1.0 * MM, None)


def test_sittings_that_plainly_differ_more_than_the_study_count_alone() -> None:
    for dof in (20, None):
        found = chart(330, known=KnownSpread(0.1 * MM, dof))
        assert found.sd_nm is not None
        assert same_float(found.sd_nm, statistics.stdev(STEADY))
        assert found.dof == 9


def test_equal_figures_do_not_make_a_millimetre_a_wonder() -> None:
    found = individuals_chart([330 * MM] * 10 + [331 * MM])
    assert found.sd_nm == MM / math.sqrt(12)
    assert found.verdict is Steadiness.STEADY
    assert found.mean_range_nm == 0
    assert individuals_chart([330 * MM] * 10 + [332 * MM]).verdict is Steadiness.MOVED


@given(figures, st.integers(-20 * MM, 20 * MM))
def test_a_longer_garment_has_the_same_chart(values: list[int], shift: int) -> None:
    before, after = individuals_chart(values), individuals_chart([value + shift for value in values])
    assert before.verdict is after.verdict
    assert [(p.run, p.outside) for p in before.points] == [(p.run, p.outside) for p in after.points]


@given(figures)
def test_turned_upside_down_the_verdict_stays(values: list[int]) -> None:
    assert individuals_chart(values).verdict is individuals_chart([-value for value in values]).verdict


@given(figures, st.floats(0.001, 0.1), st.floats(1.1, 5.0))
def test_fewer_false_alarms_mean_wider_limits(values: list[int], rate: float, times: float) -> None:
    often = individuals_chart(values, false_alarm=rate).limits
    seldom = individuals_chart(values, false_alarm=rate / times).limits
    assert often is not None
    assert seldom is not None
    assert seldom.low <= often.low <= often.high <= seldom.high


@pytest.mark.parametrize(("count", "more"), [(5, 1), (5, 30), (12, 1), (12, 30)])
@pytest.mark.parametrize("known", [None, KnownSpread(2.0 * MM, None)])
def test_false_alarms_are_no_more_than_promised(count: int, more: int, known: KnownSpread | None) -> None:
    """A steady garment with a spread of 2 mm: at most one look in a hundred says that it moved."""
    rng = np.random.default_rng(count * 100 + more)
    drawn = np.rint(rng.normal(330, 2, (3000, count + more)) * MM).astype(np.int64)
    moved = [
        individuals_chart(row, baseline=count, known=known, division_nm=1).verdict is Steadiness.MOVED
        for row in drawn.tolist()
    ]
    # 3000 looks: 1 % has an SD of 0.18 %.
    assert 0.001 < statistics.fmean(moved) <= 0.0155


def test_the_textbooks_limits_from_ten_figures_cry_wolf() -> None:
    """Why the verdict does not use them: far more than the 0.27 % of three sigma."""
    rng = np.random.default_rng(5)
    outside = []
    for row in np.rint(rng.normal(330, 2, (4000, 11)) * MM).astype(np.int64).tolist():
        found = individuals_chart(row, division_nm=1)
        assert found.natural is not None
        outside.append(not found.natural.low <= row[-1] <= found.natural.high)
    assert 0.015 < statistics.fmean(outside) < 0.035


def test_a_shift_is_found_at_the_first_look_as_often_as_the_non_central_t_says() -> None:
    """A shift of four SDs after ten sittings, against another road to the same chance."""
    rng = np.random.default_rng(6)
    found = [
        individuals_chart(
            [*np.rint(rng.normal(330, 1, 10) * MM).astype(int).tolist(), round(rng.normal(334, 1) * MM)]
        ).verdict
        for _ in range(500)
    ]
    shift = 4 / math.sqrt(1.1)
    critical = stats.t.ppf(1 - 0.0025, 9)
    power = float(stats.nct.sf(critical, 9, shift) + stats.nct.cdf(-critical, 9, shift))
    share = statistics.fmean(verdict is Steadiness.MOVED for verdict in found)
    # Four standard errors of 500 trials.
    assert abs(share - power) < 4 * math.sqrt(power * (1 - power) / 500)


@given(st.integers(2, 60), st.floats(0.0005, 0.2))
def test_the_prediction_factor_is_students(count: int, rate: float) -> None:
    other = float(stats.t.ppf(1 - rate / 2, count - 1)) * math.sqrt(1 + 1 / count)
    assert math.isclose(prediction_factor(count, dof=count - 1, false_alarm=rate), other, rel_tol=1e-9)
    assert prediction_factor(count, dof=None, false_alarm=rate) < other


@pytest.mark.parametrize("count", [2, 5, 10, 40])
@pytest.mark.parametrize("rate", [0.01, 0.005, 0.001])
def test_a_run_is_just_long_enough(count: int, rate: float) -> None:
    """Another road to the chance of a run: adaptive quadrature over the baseline's mean."""

    def chance(length: int) -> float:
        density = stats.norm(0, 1 / math.sqrt(count)).pdf
        inside, _ = integrate.quad(
            lambda m: density(m) * stats.norm.cdf(m) ** length, -8, 8, points=[0.0], limit=200
        )
        return 2 * float(inside)

    length = run_that_signals(count, false_alarm=rate)
    assert chance(length) <= rate < chance(length - 1)


def test_natural_limits_are_the_textbooks() -> None:
    limits = natural_limits(10.0, 2.0)
    assert same_float(limits.high - 10, 6 * math.sqrt(math.pi) / 2)
    assert same_float(limits.high - 10, 10 - limits.low)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"baseline": 4}, "Number of baseline sittings is 4"),
        ({"division_nm": 0}, "Division is 0 nm"),
        ({"false_alarm": 1.0}, "Chance of a false alarm is 1.0"),
    ],
)
def test_impossible_settings_are_refused(options: dict[str, float], words: str) -> None:
    with pytest.raises(ImpossibleInput, match=words):
        individuals_chart(STEADY, **options)  # type: ignore[arg-type]  # one wrong value at a time


def test_an_impossible_spread_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="SD of the check garment"):
        KnownSpread(0.0, 5)
    with pytest.raises(ImpossibleInput, match="Degrees of freedom is 0"):
        KnownSpread(1.0, 0)
    with pytest.raises(ImpossibleInput, match="Give a larger one"):
        run_that_signals(1, false_alarm=1e-12)


def test_labels_are_words() -> None:
    assert [steadiness.label for steadiness in Steadiness] == [
        "steady",
        "our measuring has moved",
        "not enough yet",
    ]
