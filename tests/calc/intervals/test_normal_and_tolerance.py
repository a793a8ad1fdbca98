"""Intervals of a bell curve: second roads, simulated coverage, and what must always hold."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from inventory.calc import intervals
from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Sample

samples = st.builds(Sample, st.integers(2, 300), st.floats(-1e4, 1e4), st.floats(0.01, 1e3))
shares = st.floats(0.05, 0.995)


@given(samples, shares)
def test_mean_prediction_and_sd_agree_with_scipy(sample: Sample, confidence: float) -> None:
    n, sd = sample.n, sample.sd
    mean = intervals.mean_interval(sample, confidence=confidence)
    expected = stats.t.interval(confidence, n - 1, sample.mean, sd / math.sqrt(n))
    assert np.allclose((mean.low, mean.high), expected, rtol=1e-8, atol=1e-8)
    one_more = intervals.prediction_interval(sample, confidence=confidence)
    expected = stats.t.interval(confidence, n - 1, sample.mean, sd * math.sqrt(1 + 1 / n))
    assert np.allclose((one_more.low, one_more.high), expected, rtol=1e-8, atol=1e-8)
    spread = intervals.sd_interval(sample, confidence=confidence)
    ends = stats.chi2.ppf([(1 + confidence) / 2, (1 - confidence) / 2], n - 1)
    assert np.allclose((spread.low, spread.high), sd * np.sqrt((n - 1) / ends), rtol=1e-8)


@given(samples, shares, st.integers(1, 50))
def test_a_prediction_holds_the_mean_and_narrows_to_it(sample: Sample, confidence: float, m: int) -> None:
    mean, one = (
        intervals.mean_interval(sample, confidence=confidence),
        intervals.prediction_interval(sample, confidence=confidence),
    )
    many = intervals.prediction_interval(sample, confidence=confidence, mean_of=m)
    assert one.low <= many.low <= mean.low <= mean.high <= many.high <= one.high


@settings(max_examples=40)
@given(st.integers(2, 200), st.floats(0.5, 0.999), st.floats(0.5, 0.999))
def test_the_one_sided_factor_agrees_with_scipy(n: int, coverage: float, confidence: float) -> None:
    found = intervals.one_sided_factor(n, coverage=coverage, confidence=confidence)
    expected = stats.nct.ppf(confidence, n - 1, math.sqrt(n) * stats.norm.ppf(coverage)) / math.sqrt(n)
    assert math.isclose(found, expected, rel_tol=1e-7, abs_tol=1e-9)


def _by_adaptive_quadrature(k: float, n: int, coverage: float) -> float:
    """Confidence of mean ± k·s: the plain double condition, solved and integrated by scipy."""

    def large_enough(z: float) -> float:
        offset = z / math.sqrt(n)
        reach = optimize.brentq(
            lambda r: stats.norm.cdf(offset + r) - stats.norm.cdf(offset - r) - coverage, 0, 20
        )
        return float(stats.chi2.sf((n - 1) * (reach / k) ** 2, n - 1) * stats.norm.pdf(z))

    return 2 * float(integrate.quad(large_enough, 0, 8, epsabs=1e-11)[0])


@pytest.mark.parametrize(("n", "coverage"), [(2, 0.9), (5, 0.99), (30, 0.95)])
def test_the_two_sided_factor_gives_its_confidence_by_another_integral(n: int, coverage: float) -> None:
    k = intervals.two_sided_factor(n, coverage=coverage, confidence=0.95)
    assert abs(_by_adaptive_quadrature(k, n, coverage) - 0.95) < 1e-9


@settings(max_examples=60)
@given(st.integers(2, 400), st.floats(0.2, 0.999), st.floats(0.2, 0.999))
def test_more_pieces_more_share_and_more_confidence_move_the_factor_the_right_way(
    n: int, coverage: float, confidence: float
) -> None:
    k = intervals.two_sided_factor(n, coverage=coverage, confidence=confidence)
    assert k <= intervals.two_sided_factor(n, coverage=(1 + coverage) / 2, confidence=confidence)
    assert k <= intervals.two_sided_factor(n, coverage=coverage, confidence=(1 + confidence) / 2)
    if confidence >= 0.5:
        assert intervals.two_sided_factor(n + 1, coverage=coverage, confidence=confidence) <= k


def test_stated_confidences_hold_on_simulated_samples() -> None:
    rng = np.random.default_rng(20_260)
    n, runs = 8, 40_000
    drawn = rng.standard_normal((runs, n))
    mean, sd = drawn.mean(axis=1), drawn.std(axis=1, ddof=1)
    two = intervals.two_sided_factor(n, coverage=0.9, confidence=0.95)
    inside = stats.norm.cdf(mean + two * sd) - stats.norm.cdf(mean - two * sd)
    one = intervals.one_sided_factor(n, coverage=0.9, confidence=0.95)
    below = stats.norm.cdf(mean + one * sd)
    # 40,000 runs: 4 standard errors of a share near 0.95 are 0.0044.
    assert abs((inside >= 0.9).mean() - 0.95) < 0.0044
    assert abs((below >= 0.9).mean() - 0.95) < 0.0044


def test_a_bound_on_one_side_is_nearer_than_between_two() -> None:
    sample = Sample(10, 100.0, 2.0)
    both = intervals.tolerance_interval(sample, coverage=0.95, confidence=0.95)
    upper = intervals.tolerance_bound(sample, coverage=0.95, confidence=0.95, upper=True)
    lower = intervals.tolerance_bound(sample, coverage=0.95, confidence=0.95, upper=False)
    assert (upper.low, lower.high) == (-math.inf, math.inf)
    assert both.low < lower.low < sample.mean < upper.high < both.high


def test_equal_values_have_no_width() -> None:
    found = intervals.mean_interval(intervals.sample_of([3.0, 3.0, 3.0]))
    assert (found.low, found.high) == (3.0, 3.0)


@pytest.mark.parametrize(
    ("values", "fault"),
    [([], "Number of values is 0"), ([1.0], "Number of values is 1"), ([1.0, math.nan], "Value is nan")],
)
def test_a_sample_that_says_nothing_is_refused(values: list[float], fault: str) -> None:
    with pytest.raises(ImpossibleInput, match=fault):
        intervals.sample_of(values)


def test_impossible_questions_are_refused_by_name_and_value() -> None:
    with pytest.raises(ImpossibleInput, match="Confidence is 95"):
        intervals.mean_interval(Sample(5, 0.0, 1.0), confidence=95)
    with pytest.raises(ImpossibleInput, match="Coverage is 1"):
        intervals.two_sided_factor(5, coverage=1, confidence=0.9)
    with pytest.raises(ImpossibleInput, match="Number of values is 1"):
        intervals.one_sided_factor(1, coverage=0.9, confidence=0.9)
    with pytest.raises(ImpossibleInput, match="Number of samples is 0"):
        intervals.two_sided_factor(5, coverage=0.9, confidence=0.9, samples=0)
    with pytest.raises(ImpossibleInput, match="Number of values to come is 0"):
        intervals.prediction_interval(Sample(5, 0.0, 1.0), mean_of=0)
    with pytest.raises(ImpossibleInput, match="Mean and SD"):
        Sample(5, 0.0, -1.0)
