"""Halving finds what a walk would find."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.sampling.seeking import first_near, first_that


@given(st.integers(0, 200), st.integers(0, 200), st.integers(0, 200))
def test_the_first_number_is_found_or_the_end(start: int, more: int, threshold: int) -> None:
    below = start + more
    expected = next((number for number in range(start, below) if number >= threshold), below)
    assert first_that(lambda number: number >= threshold, at_least=start, below=below) == expected
    assert first_near(lambda number: number >= threshold, at_least=start, below=below) == expected


@pytest.mark.parametrize("threshold", [1, 2, 77, 1000])
def test_large_numbers_are_not_tried_when_the_answer_is_small(threshold: int) -> None:
    tried: list[int] = []

    def holds(number: int) -> bool:
        tried.append(number)
        return number >= threshold

    assert first_near(holds, at_least=1, below=10**9) == threshold
    assert max(tried) <= 2 * threshold
