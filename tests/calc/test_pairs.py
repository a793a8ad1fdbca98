"""Two figures for the same thing: against scipy.stats, by simulation, and what must always hold."""

import itertools
import math
import statistics

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from inventory.calc import pairs
from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Sample, sample_of
from inventory.calc.pairs import Comparison, Outcome
from tests.calc.plans import MM

lengths = st.integers(300 * MM, 340 * MM)
two_lists = st.integers(2, 12).flatmap(
    lambda n: st.tuples(st.lists(lengths, min_size=n, max_size=n), st.lists(lengths, min_size=n, max_size=n))
)
comparisons = st.builds(
    Comparison, st.floats(-5.0 * MM, 5.0 * MM), st.floats(1.0, 3.0 * MM), st.integers(1, 40).map(float)
)


@given(two_lists)
def test_a_paired_comparison_is_that_of_scipy(lists: tuple[list[int], list[int]]) -> None:
    first, second = lists
    assume(len(set(pairs.differences_nm(first, second))) > 1)
    ours, other = pairs.paired(first, second), stats.ttest_rel(first, second)
    assert math.isclose(ours.t, other.statistic, rel_tol=1e-6, abs_tol=1e-9)
    assert math.isclose(ours.p, other.pvalue, rel_tol=1e-6, abs_tol=1e-12)
    low, high = other.confidence_interval(0.9)
    assert ours.interval(confidence=0.9).low == pytest.approx(low, rel=1e-6, abs=1.0)
    assert ours.interval(confidence=0.9).high == pytest.approx(high, rel=1e-6, abs=1.0)


@given(st.lists(lengths, min_size=2, max_size=9), st.lists(lengths, min_size=2, max_size=9))
def test_an_unpaired_comparison_is_that_of_scipy(first: list[int], second: list[int]) -> None:
    assume(len(set(first)) > 1 and len(set(second)) > 1)
    ours, other = pairs.unpaired(first, second), stats.ttest_ind(first, second, equal_var=False)
    assert math.isclose(ours.t, other.statistic, rel_tol=1e-6, abs_tol=1e-9)
    assert math.isclose(ours.p, other.pvalue, rel_tol=1e-6, abs_tol=1e-12)
    assert math.isclose(ours.dof, other.df, rel_tol=1e-6)


@given(two_lists)
def test_swapping_the_two_turns_every_sign(lists: tuple[list[int], list[int]]) -> None:
    first, second = lists
    there, back = pairs.paired(first, second), pairs.paired(second, first)
    assert there.mean_nm == -back.mean_nm
    assert there.p == back.p
    one, other = pairs.agreement(first, second), pairs.agreement(second, first)
    assert math.isclose(one.limits.low, -other.limits.high, rel_tol=1e-9, abs_tol=1e-3)
    signs, turned = pairs.sign_test(first, second), pairs.sign_test(second, first)
    assert (signs.above, signs.below, signs.p) == (turned.below, turned.above, turned.p)


@given(two_lists, st.integers(-10 * MM, 10 * MM))
def test_what_all_pieces_share_falls_out(lists: tuple[list[int], list[int]], shift: int) -> None:
    first, second = lists
    pieces = [n * 7 * MM + shift for n in range(len(first))]
    moved = [[x + piece for x, piece in zip(xs, pieces, strict=True)] for xs in (first, second)]
    assert pairs.paired(*moved) == pairs.paired(first, second)
    assert pairs.sign_test(*moved) == pairs.sign_test(first, second)


@given(comparisons, st.floats(1.0, 10.0 * MM), st.floats(0.01, 0.2))
def test_two_tests_and_one_interval_say_the_same(found: Comparison, margin: float, alpha: float) -> None:
    answer = pairs.equivalence(found, margin_nm=margin, alpha=alpha)
    assume(abs(answer.p - alpha) > 1e-6)
    inside = -margin < answer.interval.low and answer.interval.high < margin
    assert (answer.outcome is Outcome.AGREE) == inside


@given(comparisons, st.floats(1.0, 10.0 * MM), st.floats(0.0, 5.0 * MM))
def test_a_wider_margin_never_makes_two_differ(found: Comparison, margin: float, more: float) -> None:
    order = [Outcome.DIFFER, Outcome.CANNOT_TELL, Outcome.AGREE]
    narrow, wide = (pairs.equivalence(found, margin_nm=m).outcome for m in (margin, margin + more))
    assert order.index(narrow) <= order.index(wide)


def test_two_that_differ_by_just_the_margin_are_called_equal_as_seldom_as_promised() -> None:
    """The risk of the two one-sided tests at the edge: at most 5 in 100."""
    rng = np.random.default_rng(7)
    called = [
        pairs.equivalence(
            pairs.comparison_of(sample_of(rng.normal(2.0, 1.0, 12).tolist())), margin_nm=2.0
        ).outcome
        for _ in range(3000)
    ]
    agree = statistics.fmean(outcome is Outcome.AGREE for outcome in called)
    differ = statistics.fmean(outcome is Outcome.DIFFER for outcome in called)
    assert abs(agree - 0.05) < 0.016
    assert abs(differ - 0.05) < 0.016


def test_limits_of_agreement_hold_nineteen_of_twenty() -> None:
    rng = np.random.default_rng(8)
    first = np.rint((330 + rng.normal(0, 2, 20_000)) * MM).astype(int).tolist()
    second = np.rint((330 + rng.normal(1, 2, 20_000)) * MM).astype(int).tolist()
    found = pairs.agreement(first, second)
    inside = [found.limits.low <= d <= found.limits.high for d in pairs.differences_nm(first, second)]
    assert abs(statistics.fmean(inside) - 0.95) < 0.006


def test_the_interval_of_a_limit_holds_what_it_promises() -> None:
    rng = np.random.default_rng(9)
    held = []
    for _ in range(2000):
        found = pairs.agreement_of(sample_of(rng.normal(0, 1, 30).tolist()))
        held.append(found.high_interval.low <= 1.96 <= found.high_interval.high)
    # An approximation of 1986: a little short of, or beyond, its 95 in 100 for 30 pairs.
    assert abs(statistics.fmean(held) - 0.95) < 0.02


@given(two_lists)
def test_the_spread_of_repeats_is_that_of_a_study_of_pairs(lists: tuple[list[int], list[int]]) -> None:
    first, second = lists
    found = pairs.repeats(first, second)
    cells = [statistics.variance(cell) for cell in zip(first, second, strict=True)]
    assert math.isclose(found.within_nm, math.sqrt(statistics.fmean(cells)), rel_tol=1e-9, abs_tol=1e-6)
    assert math.isclose(found.about_zero_nm, math.sqrt(2) * found.within_nm, rel_tol=1e-9)
    assert found.coefficient_nm == 2 * found.about_zero_nm
    assert found.about_zero_nm >= abs(found.mean_nm) * (1 - 1e-12)


@pytest.mark.parametrize("split", range(2, 11))
def test_the_sign_test_is_that_of_all_throws_of_coins_and_of_scipy(split: int) -> None:
    for above in range(split + 1):
        first = [1] * above + [-1] * (split - above)
        ours = pairs.sign_test(first, [0] * split)
        uneven = abs(2 * above - split)
        throws = itertools.product((1, -1), repeat=split)
        as_uneven = sum(abs(sum(throw)) >= uneven for throw in throws)
        assert math.isclose(ours.p, as_uneven / 2**split, rel_tol=1e-12)
        assert math.isclose(ours.p, stats.binomtest(above, split).pvalue, rel_tol=1e-9)


def test_pairs_without_a_difference_say_nothing_in_the_sign_test() -> None:
    found = pairs.sign_test([1, 2, 3], [1, 1, 1])
    assert (found.above, found.below, found.same, found.p) == (2, 0, 1, 0.5)
    assert pairs.sign_test([1, 1], [1, 1]).p == 1.0


def test_equal_differences_hide_their_spread() -> None:
    apart = pairs.paired([331, 332, 333], [330, 331, 332])
    assert (apart.mean_nm, apart.se_nm, apart.t, apart.p) == (1.0, 0.0, math.inf, 0.0)
    alike = pairs.paired([331, 332], [331, 332])
    assert (alike.t, alike.p) == (0.0, 1.0)
    assert pairs.equivalence(alike, margin_nm=1.0).outcome is Outcome.AGREE
    assert pairs.equivalence(apart, margin_nm=0.5).outcome is Outcome.DIFFER
    assert pairs.unpaired([1, 1], [2, 2]).dof == 2


def test_labels_are_words() -> None:
    assert Outcome.DIFFER.label == "differ by more than the margin"
    assert len({outcome.label for outcome in Outcome}) == 3


@pytest.mark.parametrize(
    ("build", "words"),
    [
        (lambda: pairs.paired([1], [1]), "Number of pairs is 1"),
        (lambda: pairs.paired([1, 2], [1]), "Number of figures is 2 and 1"),
        (lambda: pairs.unpaired([1], [1, 2]), "Number of values is 1"),
        (lambda: Comparison(1.0, 1.0, 3).interval(confidence=1), "Confidence is 1"),
        (lambda: pairs.equivalence(Comparison(1.0, 1.0, 3), margin_nm=0), "Margin is 0 nm"),
        (lambda: pairs.equivalence(Comparison(1.0, 1.0, 3), margin_nm=1, alpha=0.5), "Risk on each side"),
        (lambda: pairs.agreement_of(Sample(3, 0.0, 1.0), k=0), "Number of SDs"),
        (lambda: pairs.agreement_of(Sample(3, 0.0, 1.0), confidence=0), "Confidence is 0"),
    ],
)
def test_impossible_comparisons_are_refused(build: object, words: str) -> None:
    assert callable(build)
    with pytest.raises(ImpossibleInput, match=words):
        build()
