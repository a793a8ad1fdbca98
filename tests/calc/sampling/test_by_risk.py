"""Plans by risk: nothing smaller keeps both promises."""

from math import ceil, floor

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import SinglePlan
from inventory.calc.sampling.by_risk import plan_by_risk

RISKS = st.sampled_from([0.01, 0.05, 0.10, 0.20])


@settings(max_examples=40)
@given(st.integers(4, 60), st.integers(0, 20), st.integers(1, 40), RISKS, RISKS)
def test_no_smaller_plan_keeps_both_promises_in_a_batch(
    size: int, good_bad: int, apart: int, alpha: float, beta: float
) -> None:
    poor_bad = good_bad + apart
    assume(poor_bad <= size)
    found = plan_by_risk(good_bad / size, alpha, poor_bad / size, beta, batch_size=size)
    assert (found.good_bad, found.poor_bad) == (good_bad, poor_bad)
    numbers = np.arange(size)
    keeping = [
        (sample, int(accept))
        for sample in range(1, size + 1)
        for accept in numbers[
            (stats.hypergeom.cdf(numbers, size, good_bad, sample) >= 1 - alpha - 1e-12)
            & (stats.hypergeom.cdf(numbers, size, poor_bad, sample) <= beta + 1e-12)
        ]
    ]
    assert (found.plan.size, found.plan.accept) in keeping
    assert found.plan.size == min(sample for sample, _ in keeping)


@settings(max_examples=60)
@given(st.floats(0.0, 0.1), st.floats(0.1, 0.5), RISKS, RISKS)
def test_no_smaller_plan_keeps_both_promises_in_a_series(
    good: float, apart: float, alpha: float, beta: float
) -> None:
    poor = good + apart
    found = plan_by_risk(good, alpha, poor, beta)
    size, accept = found.plan.size, found.plan.accept
    assert stats.binom.cdf(accept, size, good) >= 1 - alpha - 1e-12
    assert stats.binom.cdf(accept, size, poor) <= beta + 1e-12
    assert found.good_passes == pytest.approx(stats.binom.cdf(accept, size, good), abs=1e-10)
    numbers = np.arange(size)
    keeps_good = stats.binom.cdf(numbers, size - 1, good) >= 1 - alpha
    keeps_poor = stats.binom.cdf(numbers, size - 1, poor) <= beta
    assert not (keeps_good & keeps_poor).any()


def test_a_batch_needs_fewer_pieces_than_a_series() -> None:
    series = plan_by_risk(0.01, 0.05, 0.06, 0.10)
    assert series.plan == SinglePlan(110, 3, 4)
    assert plan_by_risk(0.01, 0.05, 0.06, 0.10, batch_size=300).plan.size < series.plan.size


def test_wishes_one_piece_apart_ask_for_nearly_every_piece() -> None:
    found = plan_by_risk(1 / 30, 0.05, 2 / 30, 0.10, batch_size=30)
    assert found.plan.size >= 28
    assert found.good_passes >= 0.95
    assert found.poor_passes <= 0.10


def test_shares_become_whole_pieces_the_careful_way() -> None:
    found = plan_by_risk(0.07, 0.05, 0.25, 0.10, batch_size=50)
    assert (found.good_bad, found.poor_bad) == (floor(3.5), ceil(12.5))
    even = plan_by_risk(0.07, 0.05, 0.29, 0.10, batch_size=100)
    assert (even.good_bad, even.poor_bad) == (7, 29)


def test_the_words_give_the_chances_reached() -> None:
    words = plan_by_risk(0.01, 0.05, 0.06, 0.10).words
    assert words == (
        "110 pieces, accept with 3, refuse with 4: good batches pass 97.5 % of the time, poor ones 9.8 %."
    )


@pytest.mark.parametrize(
    ("wishes", "size", "said"),
    [
        ((0.05, 0.05, 0.05, 0.10), None, r"Poor share is 0\.05, with a good share of 0\.05"),
        ((-0.1, 0.05, 0.05, 0.10), None, r"Good share is -0\.1"),
        ((0.01, 0.0, 0.05, 0.10), None, r"Producer's risk is 0\.0"),
        ((0.01, 0.05, 0.05, 1.0), None, r"Consumer's risk is 1\.0"),
        ((0.01, 0.5, 0.05, 0.5), None, r"Risks is 0\.5 and 0\.5\. Together they must stay below 1"),
        ((0.01, 0.05, 1.5, 0.10), None, r"Poor share is 1\.5"),
        ((0.05, 0.05, 0.0502, 0.10), None, "is larger than 20000 pieces. Move the good and the poor share"),
        ((0.01, 0.05, 0.06, 0.10), 0, "Batch size is 0"),
    ],
)
def test_impossible_wishes_are_told(
    wishes: tuple[float, float, float, float], size: int | None, said: str
) -> None:
    with pytest.raises(ImpossibleInput, match=said):
        plan_by_risk(*wishes, batch_size=size)


def test_a_batch_too_small_to_tell_the_shares_apart_still_has_a_plan_when_a_piece_lies_between() -> None:
    found = plan_by_risk(0.01, 0.05, 0.06, 0.10, batch_size=10)
    assert (found.good_bad, found.poor_bad) == (0, 1)
    assert found.plan == SinglePlan(9, 0, 1)
