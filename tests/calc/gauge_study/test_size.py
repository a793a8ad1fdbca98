"""What a study could tell before it is begun, against chi-square and against simulated studies."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study import expected_limits, people_told, repeats_told


# Percentiles of chi-square at 2.5 % and 97.5 % as any printed table has them (from memory).
@pytest.mark.parametrize(
    ("dof", "lower", "upper"),
    [(1, 0.000982, 5.024), (2, 0.0506, 7.378), (5, 0.831, 12.83), (10, 3.247, 20.48), (30, 16.79, 46.98)],
)
def test_the_limits_are_those_of_a_printed_chi_square_table(dof: int, lower: float, upper: float) -> None:
    told = expected_limits(dof)
    assert told.low == pytest.approx(math.sqrt(dof / upper), rel=1e-3)
    assert told.high == pytest.approx(math.sqrt(dof / lower), rel=1e-3)


@given(dof=st.integers(1, 2000), confidence=st.floats(0.9, 0.999))
def test_the_limits_lie_around_one_and_close_in_with_more_readings(dof: int, confidence: float) -> None:
    told, more = expected_limits(dof, confidence=confidence), expected_limits(dof + 1, confidence=confidence)
    assert told.low < more.low < 1.0
    assert more.high < told.high
    half = (1 - confidence) / 2
    assert dof / told.high**2 == pytest.approx(stats.chi2.ppf(half, dof), rel=1e-8)


def test_so_many_simulated_studies_keep_the_promise() -> None:
    told = repeats_told(pieces=10, people=2, rounds=2)
    spread = np.random.default_rng(5).normal(size=(20_000, 20, 2)).var(axis=2, ddof=1).mean(axis=1) ** 0.5
    held = np.mean((spread * told.low <= 1) & (spread * told.high >= 1))
    assert held == pytest.approx(0.95, abs=0.006)  # four standard errors of 20,000 trials


def test_more_people_say_more_of_people_and_more_rounds_more_of_repeats() -> None:
    assert people_told(people=2).high > people_told(people=3).high > people_told(people=5).high
    two, three = (repeats_told(pieces=6, people=2, rounds=rounds) for rounds in (2, 3))
    assert (two.dof, three.dof) == (12, 24)


@pytest.mark.parametrize("confidence", [0.0, 1.0])
def test_a_confidence_that_is_none_is_refused(confidence: float) -> None:
    with pytest.raises(ImpossibleInput, match="between 0 and 1"):
        expected_limits(3, confidence=confidence)


def test_one_person_says_nothing_of_people() -> None:
    with pytest.raises(ImpossibleInput, match="two people"):
        people_told(people=1)
