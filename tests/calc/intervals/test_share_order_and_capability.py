"""Shares, order statistics and capability: exact enumeration, second roads, and what must always hold."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from inventory.calc import intervals
from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Interval, Sample

confidences = st.floats(0.5, 0.999)
METHODS = {
    "beta": intervals.clopper_pearson,
    "wilson": intervals.wilson,
    "jeffreys": intervals.jeffreys,
}


@st.composite
def counts(draw: st.DrawFn) -> tuple[int, int]:
    of = draw(st.integers(1, 400))
    return draw(st.integers(0, of)), of


@pytest.mark.parametrize("method", METHODS)
@given(count=counts(), confidence=confidences)
def test_shares_agree_with_statsmodels(method: str, count: tuple[int, int], confidence: float) -> None:
    found = METHODS[method](*count, confidence=confidence)
    low, high = proportion_confint(*count, alpha=1 - confidence, method=method)
    if method == "jeffreys":  # we open the interval to 0 and 1 where nothing or everything was found
        low, high = (0.0 if count[0] == 0 else low), (1.0 if count[0] == count[1] else high)
    assert np.allclose((found.low, found.high), (low, high), atol=1e-9)


@pytest.mark.parametrize("method", METHODS)
@given(count=counts(), confidence=confidences)
def test_bad_and_good_pieces_mirror_each_other_and_hold_the_share_found(
    method: str, count: tuple[int, int], confidence: float
) -> None:
    found, of = count
    bad, good = (METHODS[method](x, of, confidence=confidence) for x in (found, of - found))
    assert math.isclose(bad.low, 1 - good.high, abs_tol=1e-9)
    assert bad.low <= found / of + 1e-12
    assert found / of <= bad.high + 1e-12
    assert 0 <= bad.low <= bad.high <= 1


def _coverage(ends: list[Interval], share: float) -> float:
    n = len(ends) - 1
    return float(
        sum(
            stats.binom.pmf(x, n, share)
            for x, interval in enumerate(ends)
            if interval.low <= share <= interval.high
        )
    )


def test_the_exact_interval_never_covers_less_than_it_states() -> None:
    """By adding up all outcomes of 12 pieces at 199 true shares."""
    ends = [intervals.clopper_pearson(x, 12, confidence=0.9) for x in range(13)]
    assert min(_coverage(ends, share) for share in np.linspace(0.005, 0.995, 199)) >= 0.9


def test_the_upper_share_alone_never_covers_less_than_it_states() -> None:
    ends = [Interval(0.0, intervals.upper_share(x, 12, confidence=0.9)) for x in range(13)]
    assert min(_coverage(ends, share) for share in np.linspace(0.005, 0.995, 199)) >= 0.9


@given(st.integers(1, 500), st.floats(0.5, 0.99), confidences)
def test_the_order_that_bounds_a_share_is_the_last_that_does(n: int, coverage: float, sure: float) -> None:
    """Second road: scipy's binomial tail, rank by rank."""
    order = intervals.order_for_bound(n, coverage=coverage, confidence=sure)
    tail = stats.binom.sf(np.arange(n), n, 1 - coverage).tolist()
    assert order == (sum(p >= sure * (1 - 1e-12) for p in tail) or None)


@given(
    coverage=st.floats(0.5, 0.99), sure=st.floats(0.5, 0.99), order=st.integers(1, 5), two_sided=st.booleans()
)
def test_the_smallest_sample_does_it_and_one_less_does_not(
    coverage: float, sure: float, order: int, *, two_sided: bool
) -> None:
    if two_sided:
        n = intervals.smallest_sample(coverage=coverage, confidence=sure, two_sided=True)

        def sureness(size: int) -> float:
            return 1 - size * coverage ** (size - 1) + (size - 1) * coverage**size

        assert sureness(n) >= sure - 1e-12
        assert n == 2 or sureness(n - 1) < sure + 1e-12
    else:
        n = intervals.smallest_sample(coverage=coverage, confidence=sure, order=order)
        assert (intervals.order_for_bound(n, coverage=coverage, confidence=sure) or 0) >= order
        if n > 1:
            before = intervals.order_for_bound(n - 1, coverage=coverage, confidence=sure)
            assert (before or 0) < order


@given(st.integers(2, 500), st.floats(-5, 5), st.floats(0.05, 5), st.floats(0.5, 20))
def test_capability_does_not_care_for_the_unit_and_mirrors(n: int, mean: float, sd: float, w: float) -> None:
    one = intervals.capability(Sample(n, mean, sd), lower=-w, upper=w)
    inches = intervals.capability(Sample(n, mean / 25.4, sd / 25.4), lower=-w / 25.4, upper=w / 25.4)
    other = intervals.capability(Sample(n, -mean, sd), lower=-w, upper=w)
    assert math.isclose(one.cpk, inches.cpk, rel_tol=1e-9, abs_tol=1e-12)
    assert math.isclose(one.cpm_interval.high, inches.cpm_interval.high, rel_tol=1e-9)
    assert (one.cpl, one.cpk, one.cpm) == (other.cpu, other.cpk, other.cpm)
    assert one.cpk <= one.cp + 1e-12
    assert one.cpm <= one.cp
    assert one.cp_interval.low < one.cp_interval.high


def test_the_intervals_of_cp_and_cpk_hold_the_truth_about_as_often_as_stated() -> None:
    """20,000 samples of 40; Cpk's is an approximation, so its figure is only near the 95 %."""
    rng = np.random.default_rng(7)
    drawn = rng.normal(0.5, 1.0, (20_000, 40))
    held_cp = held_cpk = 0
    for mean, sd in zip(drawn.mean(axis=1), drawn.std(axis=1, ddof=1), strict=True):
        found = intervals.capability(Sample(40, float(mean), float(sd)), lower=-4.0, upper=4.0)
        held_cp += found.cp_interval.low <= 4 / 3 <= found.cp_interval.high
        held_cpk += found.cpk_interval.low <= 3.5 / 3 <= found.cpk_interval.high
    assert abs(held_cp / 20_000 - 0.95) < 0.0062
    assert abs(held_cpk / 20_000 - 0.95) < 0.015


def test_impossible_questions_are_refused_by_name_and_value() -> None:
    with pytest.raises(ImpossibleInput, match="Number found is 4 of 3"):
        intervals.clopper_pearson(4, 3)
    with pytest.raises(ImpossibleInput, match="Number looked at is 0"):
        intervals.wilson(0, 0)
    with pytest.raises(ImpossibleInput, match="Order is 0"):
        intervals.smallest_sample(coverage=0.9, confidence=0.9, order=0)
    with pytest.raises(ImpossibleInput, match="Order is 2"):
        intervals.smallest_sample(coverage=0.9, confidence=0.9, order=2, two_sided=True)
    with pytest.raises(ImpossibleInput, match="Number of values is 0"):
        intervals.order_for_bound(0, coverage=0.9, confidence=0.9)
    with pytest.raises(ImpossibleInput, match="SD is 0"):
        intervals.capability(Sample(5, 0.0, 0.0), lower=-1.0, upper=1.0)
    with pytest.raises(ImpossibleInput, match="Swap the two"):
        intervals.capability(Sample(5, 0.0, 1.0), lower=1.0, upper=1.0)
