"""Left against right: which limit applies, and that the sides can change places."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.conformity import DEFAULT_SHELF, Rule, Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.symmetry import PairLimit, compare
from tests.calc.plans import MM, pair_limits, rule_pairs, small_lengths

NOMINAL = 330 * MM
ROOMY = PairLimit(6 * MM, favourable_limit_nm=12 * MM, favourable_side="plus")
halves = small_lengths.flatmap(lambda off: st.sampled_from((NOMINAL - off, NOMINAL + off)))


def test_two_halves_in_tolerance_can_still_be_too_far_apart() -> None:
    """+6 and −6 mm on a ±6 mm half: 12 mm apart, limit 6 mm, SD 1 mm on each reading."""
    found = compare(
        NOMINAL + 6 * MM,
        NOMINAL - 6 * MM,
        nominal_nm=NOMINAL,
        limit=PairLimit(6 * MM),
        u_nm=1.42 * MM,
        rule=DEFAULT_SHELF,
    )
    assert found.difference_nm == 12 * MM
    assert found.decision.verdict is Verdict.OUT
    assert found.decision.beyond_nm == 6 * MM


def test_a_difference_exactly_at_the_limit_read_without_error_is_in() -> None:
    found = compare(
        NOMINAL, NOMINAL - 6 * MM, nominal_nm=NOMINAL, limit=PairLimit(6 * MM), u_nm=0.0, rule=DEFAULT_SHELF
    )
    assert found.decision.verdict is Verdict.IN


@pytest.mark.parametrize(
    ("left_off", "right_off", "favourable"),
    [
        (10, 0, True),
        (0, 10, True),
        (-10, 0, False),
        (0, -10, False),
        (10, -9, True),
        (-10, 9, False),
        (5, -5, False),
    ],
)
def test_the_half_further_from_the_nominal_says_whether_the_allowance_applies(
    *, left_off: int, right_off: int, favourable: bool
) -> None:
    found = compare(
        NOMINAL + left_off * MM,
        NOMINAL + right_off * MM,
        nominal_nm=NOMINAL,
        limit=ROOMY,
        u_nm=0.0,
        rule=DEFAULT_SHELF,
    )
    assert found.favourable is favourable
    assert found.limit_nm == (12 * MM if favourable else 6 * MM)


def test_a_minus_side_can_be_the_favourable_one() -> None:
    snug = PairLimit(6 * MM, favourable_limit_nm=12 * MM, favourable_side="minus")
    found = compare(NOMINAL - 10 * MM, NOMINAL, nominal_nm=NOMINAL, limit=snug, u_nm=0.0, rule=DEFAULT_SHELF)
    assert found.favourable
    assert found.decision.verdict is Verdict.IN


def test_the_last_repeat_lets_the_plain_comparison_decide_a_difference() -> None:
    found = compare(
        NOMINAL + 5 * MM,
        NOMINAL,
        nominal_nm=NOMINAL,
        limit=PairLimit(6 * MM),
        u_nm=1.0 * MM,
        rule=DEFAULT_SHELF,
        readings=4,
    )
    assert found.decision.verdict is Verdict.IN
    assert found.decision.by_final_rule


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((-1, None, None), "below zero"),
        ((6 * MM, 12 * MM, None), "Give both the allowance and its side"),
        ((6 * MM, None, "plus"), "Give both the allowance and its side"),
        ((6 * MM, 5 * MM, "plus"), "5 mm, below the left-right limit 6 mm"),
    ],
)
def test_an_impossible_pair_limit_is_refused(arguments: tuple[object, ...], words: str) -> None:
    with pytest.raises(ImpossibleInput, match=words):
        PairLimit(*arguments)  # type: ignore[arg-type]  # wrong on purpose


@given(
    left=halves,
    right=halves,
    limit=pair_limits(),
    u=st.floats(0, 4 * MM),
    rules=rule_pairs(),
    readings=st.integers(1, 5),
)
def test_swapping_the_sides_turns_the_sign_and_keeps_the_verdict(
    *, left: int, right: int, limit: PairLimit, u: float, rules: tuple[Rule, Rule], readings: int
) -> None:
    for rule in rules:
        one = compare(left, right, nominal_nm=NOMINAL, limit=limit, u_nm=u, rule=rule, readings=readings)
        other = compare(right, left, nominal_nm=NOMINAL, limit=limit, u_nm=u, rule=rule, readings=readings)
        assert one.difference_nm == -other.difference_nm
        assert (one.decision, one.limit_nm, one.favourable) == (
            other.decision,
            other.limit_nm,
            other.favourable,
        )
