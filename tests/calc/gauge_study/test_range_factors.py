"""Factors of ranges: against closed forms and a simulation."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study import parts_from_ranges
from inventory.calc.gauge_study.range_factors import d2, d2_star, d3


def test_two_and_three_values_have_closed_forms() -> None:
    assert math.isclose(d2(2), 2 / math.sqrt(math.pi), rel_tol=1e-10)
    assert math.isclose(d2(3), 3 / math.sqrt(math.pi), rel_tol=1e-10)
    assert math.isclose(d3(2), math.sqrt(2 - 4 / math.pi), rel_tol=1e-8)


def test_ranges_drawn_at_random_have_these_means_and_sds() -> None:
    ranges = np.ptp(np.random.default_rng(1).normal(size=(400_000, 6)), axis=1)
    assert abs(ranges.mean() - d2(6)) < 0.006
    assert abs(ranges.std() - d3(6)) < 0.006


@settings(max_examples=30)
@given(st.integers(2, 50), st.integers(1, 40))
def test_more_ranges_bring_the_factor_down_to_d2(values: int, ranges: int) -> None:
    assert d2(values) < d2_star(values, ranges=ranges + 1) < d2_star(values, ranges=ranges)
    assert d2(values) < d2(values + 1)


def test_impossible_ranges_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Number of values in a range is 1"):
        d2(1)
    with pytest.raises(ImpossibleInput, match="Number of ranges"):
        d2_star(2, ranges=0)
    with pytest.raises(ImpossibleInput, match="Range is below zero"):
        parts_from_ranges(
            mean_range_nm=-1.0, person_range_nm=0.0, piece_range_nm=0.0, pieces=10, people=2, rounds=2
        )


def test_no_ranges_at_all_tell_no_groups() -> None:
    parts = parts_from_ranges(
        mean_range_nm=0.0, person_range_nm=0.0, piece_range_nm=0.0, pieces=5, people=2, rounds=2
    )
    assert parts.groups is None
    assert parts.percent_of_total(0.0) is None
