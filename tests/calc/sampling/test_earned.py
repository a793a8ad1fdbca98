"""How much is measured: earned slowly, lost at once."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.earned import (
    Extent,
    Outcome,
    Policy,
    Standing,
    pieces_due,
    points_due,
    screening,
    standing_after,
)

CLEAN = Outcome(accepted=True, readings_out=0)
ONE_OUT = Outcome(accepted=True, readings_out=1)
REFUSED = Outcome(accepted=False, readings_out=0)
POLICY = Policy()
outcomes = st.lists(st.sampled_from([CLEAN, CLEAN, CLEAN, CLEAN, ONE_OUT, REFUSED]), max_size=30)


@given(outcomes)
def test_less_is_earned_only_by_clean_batches_in_a_row(history: list[Outcome]) -> None:
    recent = history[-POLICY.batches_to_earn :]
    deserved = len(recent) == POLICY.batches_to_earn and all(outcome == CLEAN for outcome in recent)
    assert standing_after(history).earned(POLICY) == deserved


@pytest.mark.parametrize("bad", [ONE_OUT, REFUSED])
def test_one_bad_batch_takes_everything_back(bad: Outcome) -> None:
    assert standing_after([CLEAN] * 20).earned(POLICY)
    assert standing_after([*[CLEAN] * 20, bad]) == Standing(0)
    assert not standing_after([*[CLEAN] * 20, bad, *[CLEAN] * 4]).earned(POLICY)
    assert standing_after([*[CLEAN] * 20, bad, *[CLEAN] * 5]).earned(POLICY)


@pytest.mark.parametrize(
    ("batch_size", "clean", "bad_seen", "extent"),
    [
        (1, 0, False, Extent.ALL),
        (50, 0, False, Extent.ALL),
        (51, 0, False, Extent.PLAN),
        (50, 5, False, Extent.PLAN),
        (50, 4, False, Extent.ALL),
        (50, 5, True, Extent.ALL),
        (51, 5, True, Extent.PLAN),
    ],
)
def test_every_piece_up_to_the_size_set_unless_less_was_earned(
    batch_size: int, clean: int, *, bad_seen: bool, extent: Extent
) -> None:
    found = pieces_due(batch_size, policy=POLICY, standing=Standing(clean), bad_seen=bad_seen)
    assert found.extent is extent
    assert found.words.endswith(".")


def test_the_size_is_the_shops_to_set() -> None:
    assert pieces_due(30, policy=Policy(measure_all_up_to=20), standing=Standing()).extent is Extent.PLAN
    assert pieces_due(300, policy=Policy(measure_all_up_to=500), standing=Standing()).extent is Extent.ALL


@given(st.lists(st.integers(0, 99), unique=True, max_size=25), st.integers(1, 6), st.integers(0, 1000))
def test_each_secondary_point_has_its_turn_once_in_every_round(
    numbers: list[int], turns: int, first: int
) -> None:
    secondary = [f"S{number}" for number in numbers]
    policy = Policy(turns=turns)
    seen: Counter[str] = Counter()
    for batch_number in range(first, first + turns):
        found = points_due(
            ["A", "B"], secondary, batch_number=batch_number, policy=policy, standing=Standing(5)
        )
        assert found.due[:2] == ("A", "B")
        assert {*found.due, *found.resting} == {"A", "B", *secondary}
        assert not set(found.due) & set(found.resting)
        seen.update(found.due[2:])
    assert seen == Counter(secondary)


@pytest.mark.parametrize(("clean", "bad_seen"), [(4, False), (4, True), (5, True), (50, True)])
def test_every_point_is_measured_before_less_is_earned_and_after_one_reading_is_out(
    clean: int, *, bad_seen: bool
) -> None:
    found = points_due(
        ["A"], ["C", "D", "E"], batch_number=3, policy=POLICY, standing=Standing(clean), bad_seen=bad_seen
    )
    assert found.due == ("A", "C", "D", "E")
    assert found.resting == ()


def test_what_is_due_is_said() -> None:
    found = points_due(["A"], ["C", "D"], batch_number=1, policy=POLICY, standing=Standing(5))
    assert found.words == "Primary points, and 1 in 3 of the others in turn: D."
    none_due = points_due(["A"], ["C", "D"], batch_number=2, policy=POLICY, standing=Standing(5))
    assert none_due.due == ("A",)
    assert "none this time" in none_due.words
    restored = points_due(["A"], ["C"], batch_number=2, policy=POLICY, standing=Standing(5), bad_seen=True)
    assert restored.words == "A reading is out: every point is measured again."


def test_a_standing_is_said_in_whole_words() -> None:
    assert Standing(1).words(POLICY) == "1 clean batch in a row; 4 more before less may be measured."
    assert (
        Standing(6).words(POLICY)
        == "6 clean batches in a row: less may be measured, until one reading is out."
    )


def test_a_refused_batch_is_screened_piece_by_piece() -> None:
    labels = [f"P{number}" for number in range(80)]
    found = screening(labels, measured=labels[10:23])
    assert len(found.to_measure) == 67
    assert not set(found.to_measure) & set(labels[10:23])
    assert "measure the 67 pieces left" in found.words
    assert "the 1 piece left" in screening(["P1", "P2"], measured=["P1"]).words
    assert screening(["P1"], measured=["P1"]).to_measure == ()
    assert "Every piece has been measured" in screening(["P1"], measured=["P1"]).words


@pytest.mark.parametrize(
    ("make", "thing"),
    [
        (lambda: Policy(measure_all_up_to=-1), "batch size measured whole"),
        (lambda: Policy(batches_to_earn=0), "number of batches to earn less"),
        (lambda: Policy(turns=0), "number of batches of a rota"),
        (lambda: Outcome(accepted=True, readings_out=-1), "number of readings out"),
        (lambda: pieces_due(0, policy=POLICY, standing=Standing()), "batch size"),
        (
            lambda: points_due(["A"], ["A"], batch_number=1, policy=POLICY, standing=Standing()),
            "point",
        ),
        (
            lambda: points_due(["A"], ["B"], batch_number=-1, policy=POLICY, standing=Standing()),
            "number of the batch",
        ),
        (lambda: screening(["P1"], measured=["P2"]), "measured piece"),
    ],
)
def test_impossible_input_is_named(make: object, thing: str) -> None:
    assert callable(make)
    with pytest.raises(ImpossibleInput) as refused:
        make()
    assert refused.value.thing == thing
