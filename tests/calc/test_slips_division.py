"""The division of the tape, read off the readings."""

import pytest

from inventory.calc.slips import division_of

INCH = 25_400_000


@pytest.mark.parametrize("tape", [8, 16, 32, 64])
def test_readings_keep_to_the_division_of_their_tape(tape: int) -> None:
    marks = [13 * INCH + number % 9 * (INCH // tape) for number in range(60)]
    assert division_of(marks) == tape
    assert division_of([*marks, 330_000_001]) == tape, "one odd figure does not make the tape a finer one"


def test_halves_are_taken_for_a_heap_and_not_for_the_tape() -> None:
    assert division_of([13 * INCH, 27 * INCH // 2, 14 * INCH] * 10) == 8


def test_decimals_are_as_fine_as_a_tape_goes() -> None:
    assert division_of([330_000_001 + number for number in range(30)]) == 64
    assert division_of([]) == 8
