"""The plan of a study: complete, shuffled, repeatable, and never the same piece too soon."""

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study import make_plan

KNOWN = [
    [3, 4, 8, 1, 7, 2, 5, 6],
    [6, 5, 7, 3, 1, 4, 8, 2],
    [3, 8, 4, 1, 6, 5, 2, 7],
    [3, 7, 5, 6, 1, 2, 8, 4],
]

sizes = {
    "pieces": st.integers(5, 14),
    "people": st.integers(2, 4),
    "rounds": st.integers(2, 4),
    "seed": st.integers(0, 2**63),
}


@given(**sizes, sides=st.sampled_from((("S",), ("L", "R"))))
def test_everybody_reads_every_piece_once_a_round(
    pieces: int, people: int, rounds: int, seed: int, sides: tuple[str, ...]
) -> None:
    plan = make_plan(pieces=pieces, people=people, rounds=rounds, seed=seed, sides=sides)
    counted = Counter((turn.round, turn.person, turn.piece, turn.side) for turn in plan.turns)
    assert len(counted) == pieces * people * rounds * len(sides)
    assert set(counted.values()) == {1}
    assert [turn.number for turn in plan.turns] == list(range(1, len(plan.turns) + 1))
    assert [turn.round for turn in plan.turns] == sorted(turn.round for turn in plan.turns)


@given(**sizes)
def test_between_two_turns_at_a_piece_lie_half_of_the_others(
    pieces: int, people: int, rounds: int, seed: int
) -> None:
    plan = make_plan(pieces=pieces, people=people, rounds=rounds, seed=seed)
    for person in range(1, people + 1):
        own = [turn.piece for turn in plan.turns if turn.person == person]
        for piece in range(1, pieces + 1):
            at = [n for n, other in enumerate(own) if other == piece]
            assert min(b - a - 1 for a, b in pairwise(at)) >= pieces // 2


@given(**sizes)
def test_the_same_seed_gives_the_same_plan_and_more_rounds_only_go_on(
    pieces: int, people: int, rounds: int, seed: int
) -> None:
    plan = make_plan(pieces=pieces, people=people, rounds=rounds, seed=seed)
    longer = make_plan(pieces=pieces, people=people, rounds=rounds + 1, seed=seed)
    assert plan == make_plan(pieces=pieces, people=people, rounds=rounds, seed=seed)
    assert longer.turns[: len(plan.turns)] == plan.turns


def test_a_known_seed_gives_a_known_order() -> None:
    """Kept here so that a change of library or code that would change old plans is noticed."""
    plan = make_plan(pieces=8, people=2, rounds=2, seed=20261125)
    orders = [
        [turn.piece for turn in plan.turns if (turn.round, turn.person) == key]
        for key in ((1, 1), (1, 2), (2, 1), (2, 2))
    ]
    assert orders == KNOWN


def test_people_and_rounds_have_orders_of_their_own() -> None:
    plan = make_plan(pieces=12, people=3, rounds=3, seed=7)
    orders = {
        (turn.round, turn.person): tuple(
            other.piece for other in plan.turns if (other.round, other.person) == (turn.round, turn.person)
        )
        for turn in plan.turns
    }
    assert len(set(orders.values())) == len(orders) == 9


def test_every_piece_is_first_about_equally_often() -> None:
    firsts = Counter(
        make_plan(pieces=5, people=2, rounds=2, seed=seed).turns[0].piece for seed in range(1000)
    )
    # 200 each expected, SD 12.6; five of them beyond 4 SD would be a broken shuffle.
    assert set(firsts) == {1, 2, 3, 4, 5}
    assert all(abs(count - 200) < 51 for count in firsts.values())


def test_a_usual_study_fits_forty_minutes() -> None:
    assert make_plan(pieces=10, people=2, rounds=2, seed=1).minutes() == 40
    both_sides = make_plan(pieces=10, people=2, rounds=2, sides=("L", "R"), seed=1)
    assert both_sides.minutes() == 54
    assert both_sides.minutes(points=2) == 80


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        ({"pieces": 4}, "Number of pieces is 4. Take at least 5"),
        ({"people": 1}, "one person cannot show how far people differ"),
        ({"rounds": 1}, "without a repeat nobody's own spread"),
        ({"sides": ()}, "Name each side once"),
        ({"sides": ("L", "L")}, "Name each side once"),
        ({"seed": -1}, "Seed is -1"),
        ({"pieces": 200, "people": 4, "rounds": 3}, "Study is 2400 readings"),
    ],
)
def test_an_impossible_plan_is_refused(bad: dict[str, object], words: str) -> None:
    arguments = {"pieces": 10, "people": 2, "rounds": 2, "seed": 1, **bad}
    with pytest.raises(ImpossibleInput, match=words):
        make_plan(**arguments)  # type: ignore[arg-type]  # one wrong value at a time


def test_a_time_for_no_point_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Number of points is 0"):
        make_plan(pieces=10, people=2, seed=1).minutes(points=0)
