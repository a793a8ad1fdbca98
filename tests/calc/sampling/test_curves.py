"""Operating curves against exact fractions, scipy.stats, full enumeration and a simulation."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import DoublePlan, Plan, Severity, SinglePlan, choose_plan
from inventory.calc.sampling.curves import (
    CurvePoint,
    Model,
    batch_points,
    curve,
    passing_chance,
    quality_at,
    risk_points,
    say_passing,
    series_points,
    worst_outgoing,
)

ACCURACY = 1e-10
"""What the chances are promised to, absolutely."""

PLANS = st.sampled_from(
    [
        SinglePlan(5, 0, 1),
        SinglePlan(13, 1, 2),
        SinglePlan(20, 2, 5),
        SinglePlan(4, 4, 5),
        DoublePlan(8, 0, 2, 1, 2),
        DoublePlan(8, 0, 4, 3, 6),
        DoublePlan(5, 2, 5, 6, 7),
    ]
)


def exactly(batch_size: int, bad: int, size: int, count: int) -> Fraction:
    """The hypergeometric chance of ``count`` bad in the sample, as a fraction."""
    if bad > batch_size:  # only behind a first sample that cannot happen
        return Fraction(0)
    return Fraction(comb(bad, count) * comb(batch_size - bad, size - count), comb(batch_size, size))


def ways(plan: Plan, batch_size: int, bad: int) -> list[tuple[Fraction, bool, int, int]]:
    """Every way the sample can go: its chance, whether it accepts, pieces drawn, bad ones found."""
    ends = []
    for first in range(min(plan.size, bad) + 1):
        chance = exactly(batch_size, bad, plan.size, first)
        if isinstance(plan, SinglePlan):
            ends.append((chance, first < plan.reject, plan.size, first))
        elif first <= plan.accept_first or first >= plan.reject_first:
            ends.append((chance, first <= plan.accept_first, plan.size, first))
        else:
            for second in range(min(plan.size, bad - first) + 1):
                part = chance * exactly(batch_size - plan.size, bad - first, plan.size, second)
                ends.append((part, first + second < plan.reject, plan.most, first + second))
    assert sum(chance for chance, *_ in ends) == 1  # every way was thought of
    return ends


@settings(max_examples=60)
@given(PLANS, st.integers(20, 120), st.data())
def test_every_figure_of_a_point_equals_full_enumeration(plan: Plan, size: int, data: st.DataObject) -> None:
    bad = data.draw(st.integers(0, size))
    point = batch_points(plan, batch_size=size, bad=[bad])[0]
    ends = ways(plan, size, bad)
    passing = sum(chance for chance, accepted, _, _ in ends if accepted)
    outgoing = sum(chance * (bad - found) for chance, accepted, _, found in ends if accepted) / Fraction(size)
    drawn = sum(chance * pieces for chance, _, pieces, _ in ends)
    inspected = sum(chance * (pieces if accepted else size) for chance, accepted, pieces, _ in ends)
    assert point.inspected is not None
    for value, expected in [
        (point.passing, passing),
        (point.outgoing, outgoing),
        (point.drawn / size, drawn / size),
        (point.inspected / size, inspected / size),
    ]:
        assert abs(value - float(expected)) <= ACCURACY


@pytest.mark.parametrize(
    ("size", "plan"), [(5_000, SinglePlan(200, 10, 11)), (100_000, SinglePlan(500, 21, 22))]
)
def test_tails_hold_their_accuracy_in_large_batches(size: int, plan: SinglePlan) -> None:
    for share in (0.001, 0.02, 0.05, 0.1):
        bad = round(share * size)
        expected = sum(exactly(size, bad, plan.size, count) for count in range(plan.reject))
        assert abs(passing_chance(plan, batch_size=size, bad=bad) - float(expected)) <= ACCURACY


@given(st.integers(2, 400), st.data())
def test_a_single_plan_agrees_with_scipy(size: int, data: st.DataObject) -> None:
    sample = data.draw(st.integers(1, size))
    accept = data.draw(st.integers(0, sample))
    bad = data.draw(st.integers(0, size))
    chance = passing_chance(SinglePlan(sample, accept, accept + 1), batch_size=size, bad=bad)
    assert abs(chance - stats.hypergeom(size, bad, sample).cdf(accept)) <= ACCURACY


@given(st.integers(1, 500), st.integers(0, 30), st.floats(0, 1))
def test_series_agree_with_scipy(size: int, accept: int, share: float) -> None:
    plan = SinglePlan(size, accept, accept + 1)
    binomial = series_points(plan, [share])[0].passing
    poisson = series_points(plan, [share], model=Model.DEFECTS)[0].passing
    assert abs(binomial - stats.binom(size, share).cdf(accept)) <= ACCURACY
    assert abs(poisson - stats.poisson(size * share).cdf(accept)) <= ACCURACY


@given(PLANS, st.floats(0.0, 1.0))
def test_a_very_large_batch_is_as_good_as_a_series(plan: Plan, share: float) -> None:
    size = 10_000_000
    bad = round(share * size)
    batch = batch_points(plan, batch_size=size, bad=[bad])[0]
    series = series_points(plan, [bad / size], batch_size=size)[0]
    assert batch.passing == pytest.approx(series.passing, abs=2e-5)
    assert batch.outgoing == pytest.approx(series.outgoing, abs=2e-5)
    assert batch.drawn == pytest.approx(series.drawn, abs=1e-3)


@given(PLANS, st.integers(20, 300))
def test_worse_batches_never_pass_more_often(plan: Plan, size: int) -> None:
    points = curve(plan, batch_size=size)
    chances = [point.passing for point in points]
    assert abs(chances[0] - 1.0) <= ACCURACY
    assert all(after <= before + ACCURACY for before, after in pairwise(chances))
    assert points[0].outgoing == 0.0
    assert points[0].drawn == plan.size


def test_a_simulation_of_draws_gives_the_same_chance() -> None:
    plan = DoublePlan(13, 0, 3, 3, 4)
    draws = np.random.default_rng(20260101).permuted(np.tile(np.arange(120) < 12, (20_000, 1)), axis=1)
    first, second = draws[:, :13].sum(axis=1), draws[:, 13:26].sum(axis=1)
    accepted = (first <= 0) | ((first < 3) & (first + second < 4))
    chance = passing_chance(plan, batch_size=120, bad=12)
    assert abs(accepted.mean() - chance) <= 4 * (chance * (1 - chance) / 20_000) ** 0.5


def test_a_curve_shows_every_number_of_a_small_batch_and_the_ends_of_a_large_one() -> None:
    assert [point.bad for point in curve(SinglePlan(5, 0, 1), batch_size=30)] == list(range(31))
    large = curve(SinglePlan(5, 0, 1), batch_size=1_001, most_bad=501)
    assert (large[0].bad, large[-1].bad) == (0, 501)
    assert len(large) <= 202
    assert batch_points(SinglePlan(5, 0, 1), batch_size=30, bad=[]) == ()


def test_a_plan_that_inspects_all_passes_exactly_the_batches_within_its_number() -> None:
    choice = choose_plan(12, Decimal("0.65"))
    assert choice.inspect_all
    assert [point.passing for point in curve(choice.plan, batch_size=12)] == [1.0] + [0.0] * 12


def test_a_batch_in_the_gap_of_a_reduced_plan_counts_as_passed() -> None:
    plan = choose_plan(500, Decimal("4.0"), severity=Severity.REDUCED).plan
    assert plan.reject > plan.accept + 1
    chance = passing_chance(plan, batch_size=500, bad=50)
    assert chance == pytest.approx(stats.hypergeom(500, 50, plan.size).cdf(plan.reject - 1), abs=ACCURACY)


@given(PLANS, st.integers(20, 200), st.floats(0.01, 0.3), st.floats(0.01, 0.3))
def test_risk_points_are_the_last_good_and_the_first_poor_batch(
    plan: Plan, size: int, producer: float, consumer: float
) -> None:
    points = risk_points(plan, batch_size=size, producer_risk=producer, consumer_risk=consumer)
    assert points.good.bad is not None
    assert points.good.passing >= 1 - producer
    if points.good.bad < size:
        assert passing_chance(plan, batch_size=size, bad=points.good.bad + 1) < 1 - producer
    if points.poor is None:
        assert passing_chance(plan, batch_size=size, bad=size) > consumer
    else:
        assert points.poor.bad is not None
        assert points.poor.passing <= consumer
        assert passing_chance(plan, batch_size=size, bad=points.poor.bad - 1) > consumer


@given(PLANS, st.integers(20, 900))
@settings(max_examples=40)
def test_the_worst_outgoing_quality_of_a_batch_is_the_largest_of_all(plan: Plan, size: int) -> None:
    every = batch_points(plan, batch_size=size, bad=range(size + 1))
    assert worst_outgoing(plan, batch_size=size).outgoing == max(point.outgoing for point in every)


@given(st.integers(2, 300), st.integers(0, 8), st.sampled_from([Model.SERIES, Model.DEFECTS]))
def test_the_worst_outgoing_quality_of_a_series_is_a_maximum(size: int, accept: int, model: Model) -> None:
    if model is Model.SERIES and accept >= size:
        return
    plan = SinglePlan(size, accept, accept + 1)
    worst = worst_outgoing(plan, model=model)
    around: Sequence[CurvePoint] = series_points(
        plan, [worst.share * factor for factor in (0.5, 0.9, 0.999, 1.001, 1.1)], model=Model.DEFECTS
    )
    if model is Model.SERIES:
        around = series_points(
            plan, [min(1.0, worst.share * factor) for factor in (0.5, 0.9, 0.999, 1.001, 1.1)]
        )
    assert all(point.outgoing <= worst.outgoing + ACCURACY for point in around)
    assert worst.inspected is None


@given(
    st.integers(2, 300),
    st.integers(0, 8),
    st.floats(0.01, 0.99),
    st.sampled_from([Model.SERIES, Model.DEFECTS]),
)
def test_the_quality_of_a_chance_gives_that_chance_back(
    size: int, accept: int, passing: float, model: Model
) -> None:
    if accept >= size:
        return
    plan = SinglePlan(size, accept, accept + 1)
    share = quality_at(plan, passing, model=model)
    assert series_points(plan, [share], model=model)[0].passing == pytest.approx(passing, abs=ACCURACY)


@pytest.mark.parametrize(
    ("bad", "said"),
    [
        (0, "A batch of 60 with 0 bad pieces passes always."),
        (1, "A batch of 60 with 1 bad piece passes always."),
        (6, "A batch of 60 with 6 bad pieces passes 34 times in 100."),
        (15, "A batch of 60 with 15 bad pieces passes 1 time in 100."),
        (25, "A batch of 60 with 25 bad pieces passes less than once in 200."),
        (60, "A batch of 60 with 60 bad pieces passes never."),
    ],
)
def test_a_chance_in_words_is_never_rounded_to_always_or_never(bad: int, said: str) -> None:
    assert say_passing(SinglePlan(20, 1, 2), batch_size=60, bad=bad) == said


def test_nearly_always_is_not_always() -> None:
    assert say_passing(SinglePlan(5, 2, 3), batch_size=500, bad=8).endswith(
        "passes more than 199 times in 200."
    )


def test_impossible_wishes_are_refused() -> None:
    plan = SinglePlan(20, 1, 2)
    with pytest.raises(ImpossibleInput, match="Plan is of 20 pieces, more than the batch of 12"):
        curve(plan, batch_size=12)
    with pytest.raises(ImpossibleInput, match="Number of bad pieces is 61, of a batch of 60"):
        passing_chance(plan, batch_size=60, bad=61)
    with pytest.raises(ImpossibleInput, match=r"Share of bad pieces is 1\.5"):
        series_points(plan, [1.5])
    assert series_points(plan, [1.5], model=Model.DEFECTS)[0].passing < 1e-6
    with pytest.raises(ImpossibleInput, match="which is for a single batch"):
        series_points(plan, [0.1], model=Model.BATCH)
    with pytest.raises(ImpossibleInput, match=r"Chance of passing is 1\.0"):
        quality_at(plan, 1.0)
    with pytest.raises(ImpossibleInput, match="This plan passes every batch"):
        quality_at(SinglePlan(5, 5, 6), 0.5)
    with pytest.raises(ImpossibleInput, match="Consumer's risk is 0"):
        risk_points(plan, batch_size=60, consumer_risk=0.0)
    with pytest.raises(ImpossibleInput, match="Batch size is not given"):
        worst_outgoing(plan)
