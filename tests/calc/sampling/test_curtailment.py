"""Stopping early: compared with every way the rest of a sample could turn out."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import Decision, DoublePlan, Plan, SinglePlan, running_decision

SMALL: list[Plan] = [
    SinglePlan(5, 0, 1),
    SinglePlan(6, 1, 2),
    SinglePlan(6, 1, 4),
    SinglePlan(2, 5, 6),
    DoublePlan(3, 0, 2, 1, 2),
    DoublePlan(3, 0, 3, 3, 4),
    DoublePlan(4, 1, 4, 4, 5),
    DoublePlan(4, 0, 4, 1, 5),
    DoublePlan(3, 0, 2, 0, 2),
    DoublePlan(2, 1, 4, 4, 5),
]


def decided_by_all(plan: Plan, bad: tuple[int, ...]) -> Decision:
    """The decision of a complete row of pieces, straight from the wording of the plan."""
    if isinstance(plan, SinglePlan):
        return Decision.REFUSE if sum(bad[: plan.size]) >= plan.reject else Decision.ACCEPT
    first = sum(bad[: plan.size])
    if first <= plan.accept_first:
        return Decision.ACCEPT
    if first >= plan.reject_first:
        return Decision.REFUSE
    return Decision.REFUSE if sum(bad) >= plan.reject else Decision.ACCEPT


@pytest.mark.parametrize("plan", SMALL, ids=str)
def test_a_sample_stops_exactly_when_every_continuation_decides_the_same(plan: Plan) -> None:
    for inspected in range(plan.most + 1):
        for seen in product((0, 1), repeat=inspected):
            ends = {
                decided_by_all(plan, (*seen, *rest)) for rest in product((0, 1), repeat=plan.most - inspected)
            }
            expected = ends.pop() if len(ends) == 1 else Decision.GO_ON
            assert running_decision(plan, seen).decision is expected, seen


@pytest.mark.parametrize("plan", SMALL, ids=str)
def test_counted_defects_are_never_accepted_before_the_sample_is_complete(plan: Plan) -> None:
    for inspected in range(plan.size):
        assert running_decision(plan, [0] * inspected, counts_defects=True).decision is Decision.GO_ON
    assert running_decision(plan, [0] * plan.size, counts_defects=True).decision is Decision.ACCEPT


def test_one_piece_with_many_defects_can_refuse_a_batch() -> None:
    plan = SinglePlan(13, 5, 6)
    assert running_decision(plan, [0, 6], counts_defects=True).decision is Decision.REFUSE
    assert running_decision(plan, [0, 5], counts_defects=True).decision is Decision.GO_ON


@given(st.sampled_from(SMALL), st.lists(st.integers(0, 1), max_size=8), st.integers(0, 1))
def test_a_final_decision_stays_whatever_comes(plan: Plan, seen: list[int], more: int) -> None:
    before = running_decision(plan, seen).decision
    if before is not Decision.GO_ON:
        assert running_decision(plan, [*seen, more]).decision is before


@given(st.sampled_from(SMALL), st.lists(st.integers(0, 1), max_size=8))
def test_the_counts_say_how_many_more_could_be_asked_for(plan: Plan, seen: list[int]) -> None:
    standing = running_decision(plan, seen)
    assert standing.inspected <= len(seen)
    assert standing.inspected + standing.left <= plan.most
    assert standing.early == (standing.decision is not Decision.GO_ON and standing.left > 0)
    assert str(standing.bad) in standing.words


def test_the_words_give_the_numbers() -> None:
    plan = SinglePlan(20, 1, 2)
    assert running_decision(plan, []).words == "0 bad in 0 pieces: not decided, at most 20 more to inspect."
    assert running_decision(plan, [0] * 20).words == "0 bad in 20 pieces: accepted."
    assert running_decision(plan, [0] * 19).words == (
        "0 bad in 19 pieces: accepted, whatever the one other shows. Inspection of the sample may stop."
    )
    assert running_decision(plan, [1]).words.startswith("1 bad in 1 piece: not decided")


def test_the_gap_of_a_reduced_plan_is_told_and_left_open_while_it_is() -> None:
    plan = SinglePlan(8, 1, 4)
    assert running_decision(plan, [1, 1] + [0] * 6).in_gap
    assert "normal inspection returns with the next batch" in running_decision(plan, [1, 1] + [0] * 6).words
    open_still = running_decision(plan, [1] + [0] * 5)
    assert open_still.decision is Decision.ACCEPT
    assert not open_still.in_gap
    assert "Only the rest can show whether normal inspection returns" in open_still.words
    assert not running_decision(plan, [1] + [0] * 7).in_gap


@pytest.mark.parametrize(
    ("bad", "said"), [([0, -1], "Count of piece 2 is -1"), ([2], "Count of piece 1 is 2")]
)
def test_an_impossible_count_is_refused_by_its_place(bad: list[int], said: str) -> None:
    with pytest.raises(ImpossibleInput, match=said):
        running_decision(SinglePlan(5, 1, 2), bad)
