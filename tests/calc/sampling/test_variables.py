"""Sampling by variables: shares, plans, curves and verdicts, each by a second road."""

import math
import time
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.variables import (
    AQLS,
    NO_ERROR,
    Form,
    Level,
    ReadingError,
    Risks,
    Severity,
    Spread,
    VariablesPlan,
    VariablesVerdict,
    acceptance,
    bell_check,
    curve,
    judge,
    k_from_m,
    letter_for,
    m_from_k,
    plan_by_risk,
    plan_for,
    plan_of_letter,
    share_beyond,
)
from inventory.calc.sampling.variables.risk import k_range
from inventory.calc.sampling.variables.table import LETTER_SIZES, LETTERS_BY_BATCH
from tests.closeness import to_printed_digits

TWO_ROADS = 1e-9
"""Two libraries' special functions agree to nine digits."""

MM = 1_000_000
spreads = st.sampled_from(list(Spread))
sizes = st.integers(3, 200)
WISHES = [
    Risks(0.01, 0.05, 0.06, 0.10),
    Risks(0.01, 0.05, 0.25, 0.10),
    Risks(0.05, 0.01, 0.08, 0.05),
    Risks(0.2, 0.3, 0.6, 0.3),
]


def plan_of(n: int, k: float, spread: Spread = Spread.SAMPLE) -> VariablesPlan:
    return VariablesPlan(n, k, m_from_k(k, n=n, spread=spread), spread)


@given(sizes, st.floats(-2, 3), spreads)
def test_k_and_m_lead_back_to_each_other(n: int, k: float, spread: Spread) -> None:
    m = m_from_k(k, n=n, spread=spread)
    if 1e-9 < m < 1 - 1e-9:
        assert k_from_m(m, n=n, spread=spread) == pytest.approx(k, rel=1e-6, abs=1e-6)


@given(sizes, st.floats(-5, 5), spreads)
def test_estimated_shares_of_both_directions_add_up_to_all(n: int, q: float, spread: Spread) -> None:
    both = share_beyond(q, n=n, spread=spread) + share_beyond(-q, n=n, spread=spread)
    assert both == pytest.approx(1.0, rel=TWO_ROADS)


@given(sizes, st.floats(-5, 5), st.floats(0.001, 2), spreads)
def test_a_mean_further_inside_never_raises_the_estimate(
    n: int, q: float, more: float, spread: Spread
) -> None:
    assert share_beyond(q + more, n=n, spread=spread) <= share_beyond(q, n=n, spread=spread)


@pytest.mark.parametrize("n", [3, 4, 5, 10, 60])
@pytest.mark.parametrize("q", [-0.4, 0.0, 0.3, 1.1])
def test_the_estimate_is_the_beta_distribution_of_scipy(n: int, q: float) -> None:
    at = 0.5 - q * math.sqrt(n) / (2 * (n - 1))
    expected = float(stats.beta.cdf(at, n / 2 - 1, n / 2 - 1))
    assert share_beyond(q, n=n) == pytest.approx(expected, rel=TWO_ROADS, abs=1e-15)


@pytest.mark.parametrize("spread", list(Spread))
@pytest.mark.parametrize("n", [4, 9])
def test_over_many_samples_the_estimate_is_right_on_average(n: int, spread: Spread) -> None:
    """Unbiased: 40,000 samples from a bell of which 10 % lies beyond the limit."""
    readings = np.random.default_rng(414).standard_normal((40_000, n))
    limit = float(stats.norm.isf(0.10))
    sd = readings.std(axis=1, ddof=1) if spread is Spread.SAMPLE else np.ones(len(readings))
    q = (limit - readings.mean(axis=1)) / sd
    found = np.array([share_beyond(distance, n=n, spread=spread) for distance in q.tolist()])
    assert abs(found.mean() - 0.10) < 4 * found.std() / math.sqrt(found.size)


@pytest.mark.parametrize(
    "plan", [plan_of(3, 0.958), plan_of(10, 1.72), plan_of(35, 1.89), plan_of(200, 2.04)]
)
def test_the_curve_is_the_noncentral_t_of_scipy(plan: VariablesPlan) -> None:
    shares = np.array([0.001, 0.01, 0.05, 0.2, 0.5, 0.9])
    root = math.sqrt(plan.n)
    expected = stats.nct.sf(plan.k * root, plan.n - 1, -root * stats.norm.ppf(shares))
    assert np.allclose(curve(plan, shares), expected, rtol=1e-8, atol=1e-13)


@pytest.mark.parametrize(("n", "k", "share"), [(5, 1.53, 0.02), (35, 1.89, 0.08), (10, 1.0, 0.4)])
def test_the_chance_of_acceptance_by_direct_integration(n: int, k: float, share: float) -> None:
    """Over the spread: given it, the mean lies k spreads inside the limit with a normal chance."""
    z, root = float(stats.norm.isf(share)), math.sqrt(n)

    def part(ratio: float) -> float:
        weight = float(stats.chi2.pdf(ratio**2 * (n - 1), n - 1)) * 2 * ratio * (n - 1)
        return weight * float(stats.norm.cdf(root * (z - k * ratio)))

    expected = integrate.quad(part, 0, 6, limit=200)[0]
    assert acceptance(plan_of(n, k), share) == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("spread", list(Spread))
def test_simulated_batches_are_accepted_as_often_as_the_curve_says(spread: Spread) -> None:
    """8,000 samples of ten, judged with one limit; 8 % lies beyond it."""
    plan = plan_of(10, 1.41, spread)
    readings = np.random.default_rng(3951).normal(0.0, 1000.0, (8_000, 10)).round().astype(int)
    upper = round(float(stats.norm.isf(0.08)) * 1000)
    known = 1000.0 if spread is Spread.KNOWN else None
    accepted = sum(
        judge(row, plan, lower_nm=None, upper_nm=upper, known_spread_nm=known).verdict
        is VariablesVerdict.ACCEPTED
        for row in readings.tolist()
    )
    expected = acceptance(plan, 0.08)
    assert abs(accepted / 8_000 - expected) < 4 * math.sqrt(expected * (1 - expected) / 8_000)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.2])
def test_a_share_cut_off_by_both_limits_is_accepted_nearly_as_often(share: float) -> None:
    """8,000 samples of ten, half of the share beyond each limit."""
    plan = plan_of(10, 1.41)
    readings = np.random.default_rng(1957).normal(0.0, 1000.0, (8_000, 10)).round().astype(int)
    limit = round(float(stats.norm.isf(share / 2)) * 1000)
    verdicts = [judge(row, plan, lower_nm=-limit, upper_nm=limit).verdict for row in readings.tolist()]
    accepted = verdicts.count(VariablesVerdict.ACCEPTED) / len(verdicts)
    assert abs(accepted - acceptance(plan, share)) < 0.02


@given(sizes, st.floats(0.1, 3), spreads)
def test_curves_fall_from_certainty_to_none(n: int, k: float, spread: Spread) -> None:
    chances = curve(plan_of(n, k, spread), np.linspace(0, 1, 101))
    assert chances[0] == 1.0
    assert chances[-1] == 0.0
    assert bool((np.diff(chances) <= TWO_ROADS).all())


def test_a_curve_is_drawn_at_once() -> None:
    began = time.perf_counter()
    curve(plan_of(200, 2.04), np.linspace(0, 0.3, 301))
    assert time.perf_counter() - began < 0.5


@pytest.mark.parametrize("risks", WISHES)
@pytest.mark.parametrize("spread", list(Spread))
def test_a_plan_by_risk_keeps_both_risks_and_no_smaller_one_does(risks: Risks, spread: Spread) -> None:
    plan = plan_by_risk(risks, spread=spread)
    assert acceptance(plan, risks.p1) >= 1 - risks.alpha - TWO_ROADS
    assert acceptance(plan, risks.p2) <= risks.beta + TWO_ROADS
    assert plan.m == m_from_k(plan.k, n=plan.n, spread=spread)
    for fewer in range(spread.fewest, plan.n):
        least, most = k_range(fewer, risks, spread=spread)
        assert least > most


def test_a_plan_with_a_known_spread_is_never_larger() -> None:
    for risks in WISHES:
        assert plan_by_risk(risks, spread=Spread.KNOWN).n <= plan_by_risk(risks).n


def test_every_cell_of_the_table_gives_its_k_by_its_m() -> None:
    """Table B-1 beside Table B-3 of MIL-STD-414: one is the other by the beta function, to the last digit."""
    checked = 0
    for letter, n in LETTER_SIZES.items():
        for aql in AQLS:
            plan = plan_of_letter(letter, aql)
            if plan.n == n:
                half = Decimal(_printed(plan.m * 100)).as_tuple().exponent
                assert isinstance(half, int)
                slack = 0.5 * 10.0**half / 100
                high = k_from_m(plan.m - slack, n=n)
                low = k_from_m(plan.m + slack, n=n)
                last = 0.0005 if plan.k < 1 else 0.005
                assert low - last - TWO_ROADS <= plan.k <= high + last + TWO_ROADS
                checked += 1
    assert checked == 195


def _printed(percent: float) -> str:
    """A share as the table prints it: three digits, but no more than two decimals from 1 % on."""
    return f"{percent:.3f}" if percent < 1 else f"{percent:.2f}"


def test_the_letter_without_a_plan_takes_the_next_ones_number_too() -> None:
    assert plan_of_letter("B", Decimal("0.04")).n == 15
    assert plan_of_letter("B", Decimal("1.0")) == plan_of_letter("C", Decimal("1.0"))
    assert plan_of_letter("B", Decimal("2.5")).n == 3


def test_tightened_inspection_is_the_next_smaller_level() -> None:
    for smaller, aql in pairwise(AQLS):
        tightened = plan_of_letter("G", aql, severity=Severity.TIGHTENED)
        assert tightened == plan_of_letter("G", smaller)
    with pytest.raises(ImpossibleInput, match="below the table"):
        plan_of_letter("G", AQLS[0], severity=Severity.TIGHTENED)


def test_larger_batches_and_higher_levels_never_take_fewer() -> None:
    ends = [last for last, _ in LETTERS_BY_BATCH[1:]]
    for level in Level:
        letters = [letter_for(last, level=level) for last in ends]
        assert letters == sorted(letters)
    for last in ends:
        by_level = [letter_for(last, level=level) for level in Level]
        assert by_level == sorted(by_level)
        assert set(by_level) <= set(LETTER_SIZES)


def test_a_plan_that_takes_the_whole_batch_is_refused() -> None:
    assert plan_for(80, Decimal("2.5")).n == 10
    with pytest.raises(ImpossibleInput, match="of a batch of 12"):
        plan_for(12, Decimal("0.04"))


READINGS = st.lists(st.integers(480 * MM, 520 * MM), min_size=5, max_size=5)
PLAN = plan_of_letter("D", Decimal("2.5"))
LOWER, UPPER = 490 * MM, 510 * MM


@given(READINGS)
def test_turning_the_lengths_round_changes_nothing(readings: list[int]) -> None:
    found = judge(readings, PLAN, lower_nm=LOWER, upper_nm=UPPER)
    turned = judge([-reading for reading in readings], PLAN, lower_nm=-UPPER, upper_nm=-LOWER)
    assert turned.verdict is found.verdict
    assert turned.below == pytest.approx(found.above, rel=1e-6, abs=1e-12)


@given(READINGS)
def test_without_reading_error_nothing_is_too_close(readings: list[int]) -> None:
    found = judge(readings, PLAN, lower_nm=LOWER, upper_nm=UPPER)
    assert found.verdict is (VariablesVerdict.ACCEPTED if found.out <= PLAN.m else VariablesVerdict.REFUSED)
    assert found.least == found.most == min(found.out, 1.0)


LIMITS = st.sampled_from([(LOWER, UPPER), (None, UPPER), (LOWER, None)])


@given(READINGS, st.floats(0, 5 * MM), st.floats(0, 5 * MM), LIMITS)
def test_reading_error_never_turns_one_answer_into_the_other(
    readings: list[int], own: float, shared: float, limits: tuple[int | None, int | None]
) -> None:
    lower, upper = limits
    plain = judge(readings, PLAN, lower_nm=lower, upper_nm=upper)
    read = judge(readings, PLAN, lower_nm=lower, upper_nm=upper, error=ReadingError(own, shared))
    assert read.verdict in {plain.verdict, VariablesVerdict.CLOSE}
    assert read.least <= min(plain.out, 1.0) + TWO_ROADS
    assert read.most >= min(plain.out, 1.0) - TWO_ROADS
    assert read.made_spread_nm <= read.spread_nm


def test_k_beyond_the_reach_of_the_estimate_still_decides_by_distance() -> None:
    """With five readings the estimated share is none from 1.79 spreads on, so M could not tell 1.8 from 3."""
    readings = [494 * MM, 497 * MM, 500 * MM, 503 * MM, 506 * MM]
    plan = plan_of(5, 2.2)
    assert plan.m == 0.0
    near = judge(readings, plan, lower_nm=None, upper_nm=510 * MM, form=Form.K)
    far = judge(readings, plan, lower_nm=None, upper_nm=511 * MM, form=Form.K)
    assert (near.verdict, far.verdict) == (VariablesVerdict.REFUSED, VariablesVerdict.ACCEPTED)


@given(READINGS)
def test_for_one_limit_both_forms_decide_alike(readings: list[int]) -> None:
    plan = plan_of(5, 1.24)
    by_m = judge(readings, plan, lower_nm=LOWER, upper_nm=None)
    by_k = judge(readings, plan, lower_nm=LOWER, upper_nm=None, form=Form.K)
    if by_m.q_lower is not None and abs(by_m.q_lower - plan.k) > TWO_ROADS:
        assert by_m.verdict is by_k.verdict


def test_the_error_is_taken_out_of_the_spread_by_squares() -> None:
    readings = [495 * MM, 498 * MM, 500 * MM, 502 * MM, 505 * MM]
    found = judge(readings, PLAN, lower_nm=LOWER, upper_nm=UPPER, error=ReadingError(own_u_nm=2.0 * MM))
    assert found.spread_nm == pytest.approx(np.std(readings, ddof=1), rel=TWO_ROADS)
    assert found.made_spread_nm == pytest.approx(math.sqrt(14.5 - 4) * MM, rel=TWO_ROADS)


def test_a_refusal_that_is_only_our_reading_error_is_too_close_to_call() -> None:
    readings = [494 * MM, 497 * MM, 500 * MM, 503 * MM, 506 * MM]
    plan = plan_of(5, 1.6)
    assert judge(readings, plan, lower_nm=None, upper_nm=507 * MM).verdict is VariablesVerdict.REFUSED
    read = judge(readings, plan, lower_nm=None, upper_nm=507 * MM, error=ReadingError(own_u_nm=4.5 * MM))
    assert read.verdict is VariablesVerdict.CLOSE
    assert read.words.endswith("Measure every piece, or read each more than once.")
    drowned = judge(readings, plan, lower_nm=None, upper_nm=507 * MM, error=ReadingError(own_u_nm=9.0 * MM))
    assert drowned.made_spread_nm == 0.0
    assert "no more than our reading error alone" in drowned.words


def test_a_shared_shift_is_allowed_for_on_either_side() -> None:
    readings = [499 * MM, 500 * MM, 500 * MM, 501 * MM, 500 * MM]
    shifted = ReadingError(shared_u_nm=20.0 * MM)
    found = judge(readings, PLAN, lower_nm=LOWER, upper_nm=UPPER, error=shifted)
    assert (found.verdict, found.least, found.most) == (VariablesVerdict.CLOSE, 0.0, 1.0)


@pytest.mark.parametrize(("share", "wrong"), [(0.01, "refused"), (0.15, "accepted")])
def test_the_risks_of_a_plan_hold_for_readings_with_error_too(share: float, wrong: str) -> None:
    """2,000 batches of either quality, read with an error of 0.4 and a shared one of 0.3 spreads.

    Taken for the truth, such readings refuse one good batch in eight instead of one in twenty.
    """
    plan = plan_by_risk(Risks(p1=0.01, alpha=0.05, p2=0.15, beta=0.10))
    chance = np.random.default_rng(106)
    made = chance.normal(0, 1000, (2000, plan.n))
    read = made + chance.normal(0, 400, made.shape) + chance.normal(0, 300, (2000, 1))
    upper = round(float(stats.norm.isf(share)) * 1000)
    error = ReadingError(own_u_nm=400.0, shared_u_nm=300.0)
    verdicts = [
        judge(row, plan, lower_nm=None, upper_nm=upper, error=error).verdict
        for row in read.round().astype(int).tolist()
    ]
    assert verdicts.count(VariablesVerdict(wrong)) / len(verdicts) < 0.05


@pytest.mark.parametrize(
    ("reading", "verdict"), [(500, "accepted"), (510, "accepted"), (490, "accepted"), (511, "refused")]
)
def test_equal_readings_are_accepted_up_to_the_limit_itself(reading: int, verdict: str) -> None:
    found = judge([reading * MM] * 5, PLAN, lower_nm=LOWER, upper_nm=UPPER)
    assert found.verdict.value == verdict
    assert found.spread_nm == 0.0


def test_the_verdict_is_said_in_plain_words() -> None:
    plan = plan_of_letter("D", Decimal("1.0"))
    found = judge([197, 188, 184, 205, 201], plan, lower_nm=None, upper_nm=209)
    assert found.words == "Estimated 2.18 % out of tolerance; the plan allows 3.32 %: accepted."
    by_k = judge([197, 188, 184, 205, 201], plan, lower_nm=None, upper_nm=209, form=Form.K)
    assert "1.59 spreads inside the limit, the plan asks for 1.53: accepted" in by_k.words


@pytest.mark.parametrize(
    ("make", "thing"),
    [
        (lambda: judge([1, 2, 3], PLAN, lower_nm=0, upper_nm=9), "number of readings"),
        (lambda: judge([1, 2, 3, 4, 5], PLAN, lower_nm=None, upper_nm=None), "limit"),
        (lambda: judge([1, 2, 3, 4, 5], PLAN, lower_nm=9, upper_nm=0), "lower limit"),
        (lambda: judge([1, 2, 3, 4, 5], PLAN, lower_nm=0, upper_nm=9, form=Form.K), "form"),
        (lambda: judge([1, 2, 3, 4, 5], plan_of(5, 1.8), lower_nm=0, upper_nm=None), "greatest share M"),
        (lambda: judge([1, 2, 3, 4, 5], PLAN, lower_nm=0, upper_nm=9, known_spread_nm=1.0), "known spread"),
        (lambda: judge([1] * 5, plan_of(5, 1.0, Spread.KNOWN), lower_nm=0, upper_nm=9), "known spread"),
        (
            lambda: judge(
                [1] * 5, plan_of(5, 1.0, Spread.KNOWN), lower_nm=0, upper_nm=9, known_spread_nm=0.0
            ),
            "known spread",
        ),
        (lambda: ReadingError(own_u_nm=-1.0), "own reading error"),
        (lambda: ReadingError(shared_u_nm=math.inf), "shared reading error"),
        (lambda: VariablesPlan(2, 1.0, 0.1), "number of readings"),
        (lambda: VariablesPlan(5, math.nan, 0.1), "acceptance constant k"),
        (lambda: VariablesPlan(5, 1.0, 3.3), "greatest share M"),
        (lambda: m_from_k(1.0, n=2), "number of readings"),
        (lambda: k_from_m(0.0, n=5), "greatest share M"),
        (lambda: curve(PLAN, np.array([5.0])), "share out of tolerance"),
        (lambda: letter_for(2), "batch size"),
        (lambda: plan_of_letter("A", AQLS[0]), "code letter"),
        (lambda: plan_of_letter("D", Decimal(2)), "AQL"),
        (lambda: Risks(0.0, 0.05, 0.1, 0.1), "share that should pass (p1)"),
        (lambda: Risks(0.1, 0.05, 0.1, 0.1), "share that should pass (p1)"),
        (lambda: Risks(0.1, 0.5, 0.2, 0.5), "sum of the two risks"),
        (lambda: plan_by_risk(Risks(0.1, 0.01, 0.101, 0.01)), "pair of shares"),
        (lambda: bell_check([1] * 9, division_nm=-1), "division"),
    ],
)
def test_impossible_input_is_named(make: object, thing: str) -> None:
    assert callable(make)
    with pytest.raises(ImpossibleInput) as refused:
        make()
    assert refused.value.thing == thing


@pytest.mark.parametrize("shape", ["normal", "exponential", "uniform"])
@pytest.mark.parametrize("n", [8, 20, 80])
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore:Substitution is deprecated")
def test_the_shape_is_checked_as_statsmodels_does(shape: str, n: int) -> None:
    # Imported here: with its pandas the package warns of its own deprecations while it is loaded.
    from statsmodels.stats.diagnostic import normal_ad  # noqa: PLC0415

    chance = np.random.default_rng(n)
    values = {
        "normal": chance.normal(500, 3, n),
        "exponential": chance.exponential(3, n),
        "uniform": chance.uniform(490, 510, n),
    }[shape]
    readings = (values * MM).round().astype(int).tolist()
    found = bell_check(readings)
    raw, probability = normal_ad(np.array(readings, dtype=float))
    assert found.statistic == pytest.approx(raw * (1 + 0.75 / n + 2.25 / n**2), rel=1e-7)
    assert found.probability == pytest.approx(probability, rel=1e-5, abs=1e-12)


def alarms(samples: Sequence[Sequence[int]], division_nm: int) -> float:
    return sum(bell_check(sample, division_nm=division_nm).bell is False for sample in samples) / len(samples)


@pytest.mark.parametrize("n", [10, 50, 150])
@pytest.mark.parametrize("spread_mm", [1.0, 2.0, 6.0])
def test_readings_to_the_mark_seldom_raise_a_false_alarm(n: int, spread_mm: float) -> None:
    """A thousand samples of a bell read to whole millimetres: at most some 1 % are doubted."""
    values = np.random.default_rng(7).normal(500.3, spread_mm, (1000, n)).round().astype(int) * MM
    assert alarms(values.tolist(), MM) < 0.02
    if n == 150 and spread_mm == 1.0:
        assert alarms(values.tolist(), 0) > 0.9  # which is why equal readings are spread over their division


def test_gross_departures_are_seen() -> None:
    chance = np.random.default_rng(8)
    lopsided = chance.exponential(4.0, (200, 60)).round().astype(int) * MM
    middles = chance.choice([-6.0, 6.0], (200, 60))
    two_heaps = chance.normal(middles, 2.0).round().astype(int) * MM
    assert alarms(lopsided.tolist(), MM) > 0.9
    assert alarms(two_heaps.tolist(), MM) > 0.9
    assert "count pieces" in bell_check(lopsided.tolist()[0], division_nm=MM).words


@pytest.mark.parametrize(
    ("readings", "division_nm"),
    [([1, 2, 3], 0), ([500 * MM] * 20, 0), ([500 * MM, 501 * MM] * 10, MM)],
)
def test_the_shape_of_few_or_equal_readings_cannot_be_told(readings: list[int], division_nm: int) -> None:
    found = bell_check(readings, division_nm=division_nm)
    assert found.bell is None
    assert found.probability is None
    assert found.words.endswith("Sampling by variables supposes a bell shape.")


def test_the_words_name_the_probability() -> None:
    readings = np.random.default_rng(5).normal(500 * MM, 3 * MM, 30).round().astype(int).tolist()
    found = bell_check(readings)
    assert found.bell is True
    assert found.words.startswith("Nothing speaks against a bell shape (Anderson-Darling, p = 0.")


def test_no_error_is_none_at_all() -> None:
    assert NO_ERROR.shift_nm == 0.0
    assert to_printed_digits(ReadingError(shared_u_nm=2.0).shift_nm, "3.29")
