"""The scheme of normal and tightened inspection against its Markov chain, solved in fractions."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.switching import run_on_normal, run_on_tightened, scheme_passing

INSIDE = st.fractions(min_value=Fraction(1, 20), max_value=Fraction(19, 20), max_denominator=40)


def expected_run_on_normal(passing: Fraction) -> Fraction:
    """By first steps: with a refused batch 1 to 4 batches ago, one more refused ends the run.

    Let e be the expected rest with none in memory, and e[k] with the refused one k batches ago. Worked
    back from e[4] with e unknown, as a + b·e.
    """
    constant, slope = Fraction(0), Fraction(1)  # beyond four batches: nothing in memory
    for _ in range(4):
        constant, slope = 1 + passing * constant, passing * slope
    # e = 1 + P e + (1 − P)(constant + slope e)
    return (1 + (1 - passing) * constant) / (1 - passing - (1 - passing) * slope)


def expected_run_on_tightened(passing: Fraction) -> Fraction:
    """By first steps: e[k] with k accepted in a row; e[5] = 0."""
    constant, slope = Fraction(0), Fraction(0)
    for _ in range(5):
        constant, slope = 1 + passing * constant, passing * slope + (1 - passing)
    return constant / (1 - slope)


@given(INSIDE)
def test_the_runs_equal_those_of_the_chain(passing: Fraction) -> None:
    assert run_on_normal(passing) == expected_run_on_normal(passing)
    assert run_on_tightened(passing) == expected_run_on_tightened(passing)


@given(INSIDE, INSIDE)
def test_the_scheme_lies_between_its_two_plans(one: Fraction, other: Fraction) -> None:
    tightened, normal = sorted((one, other))
    assert tightened <= scheme_passing(normal, tightened) <= normal


@given(st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_floats_and_fractions_agree(normal: float, tightened: float) -> None:
    exact = scheme_passing(Fraction(normal), Fraction(tightened))
    assert scheme_passing(normal, tightened) == pytest.approx(float(exact), rel=1e-9)


def test_at_the_ends_it_stays_where_it_is() -> None:
    assert scheme_passing(1.0, 0.9) == 1.0
    assert scheme_passing(0.6, 0.0) == 0.0
    assert scheme_passing(0.5, 1.0) == pytest.approx(
        (run_on_normal(0.5) * 0.5 + 5) / (run_on_normal(0.5) + 5)
    )


def test_a_chance_beyond_1_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match=r"Chance to pass tightened is 1\.2"):
        scheme_passing(0.9, 1.2)
