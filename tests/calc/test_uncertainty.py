"""Uncertainty of means, sums and differences: by value, by simulation, and what must always hold."""

import math
import statistics
from collections import Counter
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc import uncertainty
from inventory.calc.errors import ImpossibleInput
from inventory.calc.judging import Taken
from inventory.calc.uncertainty import ReadingError
from tests.calc.plans import MM, errors
from tests.closeness import FLOAT_NOISE

counts = st.integers(1, 6)


def test_planning_values_split_into_repeat_and_person() -> None:
    error = ReadingError.from_planning(1_500_000, 2_000_000)
    assert error.repeat_sd_nm == 1_500_000
    # √(2² − 1.5²) = 1.3228757 mm, rounded up to whole nanometres
    assert error.person_sd_nm == 1_322_876


def test_planning_values_that_agree_leave_no_person_part() -> None:
    assert ReadingError.from_planning(1_000_000, 1_000_000).person_sd_nm == 0


def test_two_people_who_agree_better_than_one_are_refused_by_name_and_value() -> None:
    with pytest.raises(ImpossibleInput, match=r"Two people SD is 1 mm, below the same person SD 2 mm\."):
        ReadingError.from_planning(2 * MM, MM)


@pytest.mark.parametrize(("repeat", "person"), [(-1, 0), (0, -1)])
def test_a_negative_sd_is_refused(repeat: int, person: int) -> None:
    with pytest.raises(ImpossibleInput, match="below zero"):
        ReadingError(repeat, person)


@given(st.integers(0, 10**8), st.integers(0, 10**8))
def test_the_split_planning_values_add_up_again(same: int, more: int) -> None:
    error = ReadingError.from_planning(same, same + more)
    assert error.repeat_sd_nm**2 + error.person_sd_nm**2 >= (same + more) ** 2
    assert error.repeat_sd_nm**2 + max(error.person_sd_nm - 1, 0) ** 2 <= (same + more) ** 2


def test_mean_of_one_reading_is_the_reading() -> None:
    assert uncertainty.mean_nm([330_000_001]) == 330_000_001


@pytest.mark.parametrize(
    ("values", "mean"),
    [([1, 2], 2), ([2, 3], 2), ([3, 4], 4), ([1, 1, 2], 1), ([1, 2, 2], 2), ([-1, -2], -2)],
)
def test_the_mean_is_rounded_half_to_even(values: list[int], mean: int) -> None:
    assert uncertainty.mean_nm(values) == mean


def test_the_mean_of_no_reading_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Take at least one reading"):
        uncertainty.mean_nm([])


@given(st.lists(st.integers(-(10**10), 10**10), min_size=1, max_size=8))
def test_the_mean_is_the_exact_mean_rounded_once(values: list[int]) -> None:
    assert uncertainty.mean_nm(values) == round(Fraction(sum(values), len(values)))


def test_four_repeats_halve_the_repeat_part_and_leave_the_person_part() -> None:
    assert uncertainty.of_mean(ReadingError(2 * MM, 0), readings=4) == MM
    assert uncertainty.of_mean(ReadingError(0, 2 * MM), readings=4) == 2 * MM
    assert uncertainty.of_mean(ReadingError(0, 2 * MM), readings=4, people=4) == MM


def test_two_halves_read_give_root_two_and_one_half_doubled_gives_two() -> None:
    error = ReadingError(MM, 0)
    both = uncertainty.of_full_from_halves(error, left_readings=1, right_readings=1)
    doubled = uncertainty.of_full_from_one_half(error, readings=1, pair_sd_nm=0)
    assert round(both) == round(math.sqrt(2) * MM)
    assert doubled == 2 * MM


def test_a_person_habit_is_doubled_in_a_full_girth_and_gone_from_a_difference() -> None:
    habit = ReadingError(0, MM)
    assert uncertainty.of_full_from_halves(habit, left_readings=3, right_readings=3) == 2 * MM
    assert uncertainty.of_difference(habit, left_readings=1, right_readings=1) == 0


@pytest.mark.parametrize("bad", [0, -1])
def test_no_reading_has_no_uncertainty(bad: int) -> None:
    error = ReadingError(MM, 0)
    with pytest.raises(ImpossibleInput, match=f"Number of readings is {bad}"):
        uncertainty.of_mean(error, readings=bad)
    with pytest.raises(ImpossibleInput, match="Number of readings"):
        uncertainty.of_full_from_halves(error, left_readings=1, right_readings=bad)
    with pytest.raises(ImpossibleInput, match="Number of readings"):
        uncertainty.of_difference(error, left_readings=bad, right_readings=1)


def test_more_people_than_readings_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Number of people is 2 for 1 readings"):
        uncertainty.of_mean(ReadingError(MM, 0), readings=1, people=2)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_an_impossible_left_right_spread_is_refused(bad: float) -> None:
    with pytest.raises(ImpossibleInput, match="Left-right SD"):
        uncertainty.of_full_from_one_half(ReadingError(MM, 0), readings=1, pair_sd_nm=bad)


def test_a_negative_left_right_limit_has_no_spread() -> None:
    with pytest.raises(ImpossibleInput, match="Left-right limit is −1 mm"):
        uncertainty.pair_sd_from_limit(-MM)


def test_expanded_refuses_what_is_below_zero() -> None:
    assert uncertainty.expanded(0.0, 2) == 0
    with pytest.raises(ImpossibleInput):
        uncertainty.expanded(1.0, -2)
    with pytest.raises(ImpossibleInput):
        uncertainty.expanded(-1.0, 2)


@given(errors, counts, counts)
def test_another_reading_or_person_never_makes_it_worse(error: ReadingError, n: int, p: int) -> None:
    p = min(n, p)
    u_nm = uncertainty.of_mean(error, readings=n, people=p)
    assert uncertainty.of_mean(error, readings=n + 1, people=p) <= u_nm
    assert uncertainty.of_mean(error, readings=n + 1, people=p + 1) <= u_nm


@given(errors, counts, st.floats(0, 10**7))
def test_one_half_doubled_is_never_better_than_both_halves(error: ReadingError, n: int, pair: float) -> None:
    both = uncertainty.of_full_from_halves(error, left_readings=n, right_readings=n)
    one = uncertainty.of_full_from_one_half(error, readings=n, pair_sd_nm=pair)
    assert one >= both * (1 - FLOAT_NOISE)


@given(errors, counts, counts)
def test_sum_and_difference_do_not_care_which_half_is_left(error: ReadingError, a: int, b: int) -> None:
    assert uncertainty.of_full_from_halves(
        error, left_readings=a, right_readings=b
    ) == uncertainty.of_full_from_halves(error, left_readings=b, right_readings=a)
    assert uncertainty.of_difference(error, left_readings=a, right_readings=b) == uncertainty.of_difference(
        error, left_readings=b, right_readings=a
    )


def test_the_formulas_agree_with_a_simulated_bench() -> None:
    """Two hundred thousand pieces, one person with a habit, two readings left and three right."""
    rng = np.random.default_rng(20240229)
    error = ReadingError(1_500_000, 1_300_000)
    pieces = 200_000
    habit = rng.normal(0, error.person_sd_nm, pieces)
    left = rng.normal(0, error.repeat_sd_nm, (pieces, 2)).mean(axis=1) + habit
    right = rng.normal(0, error.repeat_sd_nm, (pieces, 3)).mean(axis=1) + habit
    true_difference = rng.uniform(-4_000_000, 4_000_000, pieces)
    simulated = {
        "mean": left,
        "full": left + right,
        "difference": left - right,
        # Twice the left half stands for left + right, where right truly differs by an unseen amount.
        "doubled": 2 * left - true_difference,
    }
    formula = {
        "mean": uncertainty.of_mean(error, readings=2),
        "full": uncertainty.of_full_from_halves(error, left_readings=2, right_readings=3),
        "difference": uncertainty.of_difference(error, left_readings=2, right_readings=3),
        "doubled": uncertainty.of_full_from_one_half(
            error, readings=2, pair_sd_nm=uncertainty.pair_sd_from_limit(4_000_000)
        ),
    }
    for name, errors_nm in simulated.items():
        # The SD of 200 000 draws has a relative standard error of 0.16 %; 1 % is six of them.
        assert statistics.pstdev(errors_nm.tolist()) == pytest.approx(formula[name], rel=0.01), name


dofs = st.none() | st.integers(1, 60)
full_errors = st.builds(
    ReadingError,
    st.integers(0, 5 * MM),
    st.integers(0, 5 * MM),
    st.integers(0, 5 * MM),
    dofs,
    dofs,
)


def test_the_fixed_part_stays_in_a_mean_and_falls_out_of_a_difference() -> None:
    error = ReadingError(0, 0, fixed_sd_nm=MM)
    assert uncertainty.of_mean(error, readings=4, people=2) == MM
    assert uncertainty.of_full_from_halves(error, left_readings=4, right_readings=4) == 2 * MM
    assert uncertainty.of_full_from_one_half(error, readings=1, pair_sd_nm=0.0) == 2 * MM
    assert uncertainty.of_difference(error, left_readings=1, right_readings=1) == 0.0


def test_few_degrees_of_freedom_are_refused_below_one() -> None:
    with pytest.raises(ImpossibleInput, match=r"Degrees of freedom is 0\. Give 1 or more"):
        ReadingError(MM, MM, repeat_dof=0)


def test_degrees_of_freedom_come_together_by_hand() -> None:
    # u² = 1 + 1 = 2, u⁴ = 4; 1⁴/20 + 1⁴/1 = 1.05; 4/1.05 = 3.81, cut down to 3
    error = ReadingError(MM, MM, repeat_dof=20, person_dof=1)
    assert uncertainty.mean(error, readings=1) == uncertainty.Combined(math.sqrt(2 * MM**2), 3)
    assert uncertainty.difference(error, left_readings=1, right_readings=1).dof == 20


@given(error=full_errors, left=counts, right=counts, people=counts)
def test_effective_degrees_lie_between_the_fewest_and_all_together(
    error: ReadingError, left: int, right: int, people: int
) -> None:
    found = uncertainty.full_from_halves(
        error, left_readings=left, right_readings=right, people=min(people, left, right)
    ).dof
    known = [
        dof
        for sd, dof in ((error.repeat_sd_nm, error.repeat_dof), (error.person_sd_nm, error.person_dof))
        if sd and dof is not None
    ]
    if found is None:
        return
    assert min(known) <= found
    doubtless = error.fixed_sd_nm or len(known) < sum(map(bool, (error.repeat_sd_nm, error.person_sd_nm)))
    assert doubtless or found <= sum(known)


@given(
    parts=st.lists(st.tuples(st.floats(1e-3, 1e9), dofs), min_size=1, max_size=6), scale=st.floats(1e-6, 1e6)
)
def test_degrees_of_freedom_know_no_unit(parts: list[tuple[float, int | None]], scale: float) -> None:
    scaled = [(u * scale, dof) for u, dof in parts]
    one, other = uncertainty.effective_dof(parts), uncertainty.effective_dof(scaled)
    assert (one is None) == (other is None)
    assert one is None or other is None or abs(one - other) <= max(1, one * 1e-9)


def test_hands_that_read_one_half_each_do_not_cancel() -> None:
    error = ReadingError(MM, 2 * MM)
    apart = uncertainty.Hands(1, 1, 0)
    # two repeats and two habits: 1 + 1 + 4 + 4
    assert uncertainty.difference(
        error, left_readings=1, right_readings=1, hands=apart
    ).u_nm == pytest.approx(math.sqrt(10) * MM, rel=FLOAT_NOISE)
    assert uncertainty.full_from_halves(
        error, left_readings=1, right_readings=1, hands=apart
    ).u_nm == pytest.approx(math.sqrt(10) * MM, rel=FLOAT_NOISE)


def test_a_mean_of_three_and_one_is_known_less_well_than_of_two_and_two() -> None:
    habit = ReadingError(0, 4 * MM)
    assert uncertainty.mean(habit, readings=4, people=2, alone=10 / 16).u_nm == pytest.approx(
        math.sqrt(10) * MM, rel=FLOAT_NOISE
    )
    assert uncertainty.mean(habit, readings=4, people=2).u_nm == pytest.approx(
        math.sqrt(8) * MM, rel=FLOAT_NOISE
    )


def test_the_placing_stays_in_a_difference_by_the_same_hands() -> None:
    error = ReadingError(0, 5 * MM, placing_sd_nm=3 * MM)
    assert uncertainty.of_difference(error, left_readings=2, right_readings=2) == pytest.approx(
        math.sqrt(18) * MM, rel=FLOAT_NOISE
    )
    # habit 4 in both halves, placing 3 in each: 4·16 + 9 + 9
    assert uncertainty.of_full_from_halves(error, left_readings=1, right_readings=1) == pytest.approx(
        math.sqrt(82) * MM, rel=FLOAT_NOISE
    )
    assert uncertainty.of_mean(error, readings=3) == 5 * MM


def test_a_placing_above_the_person_sd_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="above the person SD it is part of"):
        ReadingError(MM, MM, placing_sd_nm=2 * MM)


@pytest.mark.parametrize(
    "who", [((1, 1, 2), (1, 2, 2)), ((1,), (2,)), ((1, 1, 1, 2), (1, 1, 1, 2)), ((1, 2), (3, 1))]
)
def test_sums_and_differences_scatter_as_reckoned_whoever_read(
    who: tuple[tuple[int, ...], tuple[int, ...]],
) -> None:
    rng = np.random.default_rng(20261125)
    error = ReadingError(MM, 3 * MM, placing_sd_nm=2 * MM)
    rounds = 200_000
    habit = {person: rng.normal(0, math.sqrt(5), rounds) for person in (1, 2, 3)}

    def half(people: tuple[int, ...]) -> tuple[np.ndarray[tuple[int], np.dtype[np.float64]], Taken]:
        placing = {person: rng.normal(0, 2, rounds) for person in set(people)}
        readings = [habit[p] + placing[p] + rng.normal(0, 1, rounds) for p in people]
        counts = Counter(people)
        mean = np.mean(readings, axis=0)
        return mean, Taken(MM, len(people), len(counts), tuple(sorted(counts.items())))

    (left, of_left), (right, of_right) = half(who[0]), half(who[1])
    hands = of_left.with_other(of_right)
    counts = {"left_readings": of_left.readings, "right_readings": of_right.readings}
    for seen, reckoned in (
        (left + right, uncertainty.full_from_halves(error, **counts, hands=hands)),
        (left - right, uncertainty.difference(error, **counts, hands=hands)),
        (
            left,
            uncertainty.mean(error, readings=of_left.readings, people=of_left.people, alone=of_left.alone),
        ),
    ):
        assert reckoned.u_nm / MM == pytest.approx(float(np.std(seen)), rel=0.01)  # 4 SD of this simulation
