"""Switching: every short history against a second reading of the rules, the traps, and the words."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import DoublePlan, Plan, Severity, SinglePlan
from inventory.calc.sampling.switching import (
    PastBatch,
    Rules,
    State,
    next_severity,
    run_on_normal,
    run_on_tightened,
    standing,
)

AQL = Decimal("1.0")
PLAN = SinglePlan(50, 1, 2, "H")
START = date(2026, 1, 5)
LONG = st.lists(st.sampled_from("A" * 15 + "R"), min_size=12, max_size=45).map("".join)


def batch(index: int, *, accepted: bool = True, severity: Severity = Severity.NORMAL) -> PastBatch:
    """A usual batch of the maker: named by its number, one a week, clean or with two bad pieces."""
    found = 0 if accepted else 2
    return PastBatch(f"B{index}", START + timedelta(weeks=index), PLAN, severity, 50, found, accepted)


def history(letters: str, *, rules: Rules = Rules.MIL_105E, wanted: bool = False) -> list[PastBatch]:
    """Batches by letters: A accepted, R refused, each inspected at the severity then due."""
    done: list[PastBatch] = []
    for index, letter in enumerate(letters, 1):
        due = standing(done, aql=AQL, rules=rules).state
        severity = Severity.NORMAL if due is State.STOPPED else Severity(due.value)
        one = batch(index, accepted=letter == "A", severity=severity)
        done.append(replace(one, reduced_wanted=wanted))
    return done


def state_after(letters: str, *, rules: Rules = Rules.MIL_105E, wanted: bool = False) -> State:
    return standing(history(letters, rules=rules, wanted=wanted), aql=AQL, rules=rules).state


def second_reading(letters: str, *, rules: Rules, wanted: bool) -> State:
    """The same rules read once more, on plain text: what came since the state began."""
    state, since = State.NORMAL, ""
    for letter in letters:
        since += letter
        now = state
        if state is State.NORMAL:
            earned = (
                "A{15}$" if rules is Rules.ISO_1999 else "A{10}$"  # 500 clean pieces suffice
            )  # 16 × 50 pieces: the table's first limit
            if re.search("R.{0,3}R$", since):
                now = State.TIGHTENED
            elif wanted and re.search(earned, since):
                now = State.REDUCED
        elif state is State.TIGHTENED:
            stop = len(since) == 10 if rules is Rules.MIL_105D else since.count("R") == 5
            if since.endswith("AAAAA"):
                now = State.NORMAL
            elif stop:
                now = State.STOPPED
        elif state is State.REDUCED and letter == "R":
            now = State.NORMAL
        if now is not state:
            state, since = now, ""
    return state


@pytest.mark.parametrize("rules", Rules)
def test_every_history_of_nine_batches_is_read_alike_twice(rules: Rules) -> None:
    for letters in product("AR", repeat=9):
        text = "".join(letters)
        assert state_after(text, rules=rules) is second_reading(text, rules=rules, wanted=False), text


@pytest.mark.parametrize("rules", Rules)
@given(LONG)
def test_long_histories_are_read_alike_twice(rules: Rules, letters: str) -> None:
    for wanted in (False, True):
        expected = second_reading(letters, rules=rules, wanted=wanted)
        assert state_after(letters, rules=rules, wanted=wanted) is expected


def test_the_second_reading_reaches_reduced_inspection_and_comes_back() -> None:
    clean = "A" * 10
    assert second_reading(clean, rules=Rules.MIL_105E, wanted=True) is State.REDUCED
    assert state_after(clean, wanted=True) is State.REDUCED
    assert state_after(clean[:9], wanted=True) is State.NORMAL
    assert state_after(clean + "AAR", wanted=True) is State.NORMAL
    assert state_after(clean + "AARR", wanted=True) is State.NORMAL  # the one on reduced does not count
    assert state_after(clean + "AARRR", wanted=True) is State.TIGHTENED


@pytest.mark.parametrize(
    ("letters", "state"),
    [
        ("", State.NORMAL),
        ("R", State.NORMAL),
        ("RR", State.TIGHTENED),
        ("RAAAR", State.TIGHTENED),
        ("RAAAAR", State.NORMAL),
        ("RRAAAA", State.TIGHTENED),
        ("RRAAAAA", State.NORMAL),
        ("RRAAAAAR", State.NORMAL),  # the refused ones before tightened are forgiven
        ("RRAAARAAAAA", State.NORMAL),
        ("RRRARARARAR", State.STOPPED),
        ("RRRARARAAAARA", State.TIGHTENED),
        ("RRRRRRR", State.STOPPED),
        ("RRRRRR", State.TIGHTENED),
    ],
)
def test_the_rules_of_1989_at_their_edges(letters: str, state: State) -> None:
    assert state_after(letters) is state


def test_the_three_sets_of_rules_stop_at_their_own_time() -> None:
    slow = "RR" + "RAAA" * 2 + "RA"
    assert state_after(slow, rules=Rules.MIL_105D) is State.STOPPED
    assert state_after(slow, rules=Rules.MIL_105E) is State.TIGHTENED
    assert state_after("RR" + "R" * 5, rules=Rules.MIL_105D) is State.TIGHTENED
    assert state_after("RR" + "R" * 5, rules=Rules.ISO_1999) is State.STOPPED


def test_the_reason_names_the_batches() -> None:
    tightened = standing(history("ARAR"), aql=AQL)
    assert tightened.why == "2 of 3 batches in a row were refused: B2 and B4."
    assert tightened.since == "B4"
    assert (tightened.changes[0].was, tightened.changes[0].now) == (State.NORMAL, State.TIGHTENED)
    normal = standing(history("RRAAAAA"), aql=AQL)
    assert normal.why == "5 batches in a row were accepted on tightened inspection: B3, B4, B5, B6 and B7."
    stopped = standing(history("RRRRRRR"), aql=AQL)
    assert stopped.why == "5 batches were refused on tightened inspection: B3, B4, B5, B6 and B7."
    assert standing([], aql=AQL).why == "Inspection begins at normal."


@pytest.mark.parametrize(
    ("letters", "said"),
    [
        ("", "2 of 5 batches in a row refused, or fewer: tightened. 0 accepted in a row; from 10 on"),
        ("R", "1 more refused among the next 4: tightened."),
        ("RAAA", "1 more refused with the next: tightened. 3 accepted in a row"),
        ("RAAAA", "2 of 5 batches in a row refused, or fewer: tightened."),
        ("RRRA", "4 more batches accepted in a row: normal. 4 more batches refused: sampling stops."),
        ("RRRRRRR", "Inspect every piece. Sampling begins again, tightened, once the maker has acted."),
    ],
)
def test_what_would_switch_next_is_said_and_is_true(letters: str, said: str) -> None:
    assert said in standing(history(letters), aql=AQL).ahead


def test_a_batch_handed_in_again_never_counts() -> None:
    again = replace(batch(2, accepted=False), original=False)
    result = standing([batch(1, accepted=False), again], aql=AQL)
    assert result.state is State.NORMAL
    assert result.left_out == (
        "Batch B2 does not count: it had been refused before and was handed in again.",
    )


def test_a_batch_inspected_more_laxly_than_due_counts_only_when_refused() -> None:
    refused = [batch(1, accepted=False), batch(2, accepted=False)]
    lax = [batch(index) for index in range(3, 8)]
    result = standing([*refused, *lax], aql=AQL)
    assert result.state is State.TIGHTENED
    assert result.left_out[0] == "Batch B3 does not count: it was inspected normal where tightened was due."
    still_bad = [batch(index, accepted=False) for index in range(3, 8)]
    assert standing([*refused, *still_bad], aql=AQL).state is State.STOPPED


def test_a_stricter_inspection_than_due_does_not_count_either_way() -> None:
    strict = [batch(index, accepted=False, severity=Severity.TIGHTENED) for index in (1, 2)]
    assert standing(strict, aql=AQL).state is State.NORMAL


def test_after_a_stop_sampling_begins_again_at_tightened_when_the_maker_has_acted() -> None:
    stopped = history("RRRRRRR")
    ignored = standing([*stopped, batch(8)], aql=AQL)
    assert ignored.state is State.STOPPED
    assert "inspection by sampling had been stopped" in ignored.left_out[0]
    acted = [replace(batch(8, severity=Severity.TIGHTENED), corrected=True)]
    assert standing([*stopped, *acted], aql=AQL).state is State.TIGHTENED
    four_more = [batch(index, severity=Severity.TIGHTENED) for index in range(9, 13)]
    assert standing([*stopped, *acted, *four_more], aql=AQL).state is State.NORMAL


def earned(aql: Decimal, plan: Plan, found: Sequence[int], *, rules: Rules = Rules.MIL_105E) -> State:
    """The state after accepted batches with these numbers of bad pieces, reduced inspection wanted."""
    batches = [
        replace(batch(index), plan=plan, inspected=plan.size, found=bad, reduced_wanted=True)
        for index, bad in enumerate(found, 1)
    ]
    return standing(batches, aql=aql, rules=rules).state


def test_ten_accepted_batches_within_the_limit_number_earn_reduced_inspection() -> None:
    plan = SinglePlan(50, 3, 4, "H")  # 500 pieces at AQL 2.5: up to 7
    assert earned(Decimal("2.5"), plan, [1] * 7 + [0] * 3) is State.REDUCED
    assert earned(Decimal("2.5"), plan, [1] * 8 + [0] * 2) is State.NORMAL
    assert earned(Decimal("2.5"), plan, [0] * 9) is State.NORMAL


def test_more_batches_are_taken_in_where_ten_hold_too_few_pieces() -> None:
    plan = SinglePlan(13, 0, 1, "E")  # 130 pieces say nothing at AQL 1.0; 200 are needed
    assert earned(AQL, plan, [0] * 15) is State.NORMAL
    assert earned(AQL, plan, [0] * 16) is State.REDUCED


def test_reduced_inspection_waits_for_the_shop_and_for_steady_production() -> None:
    plan = SinglePlan(50, 3, 4, "H")
    ten = [
        replace(batch(index), plan=plan, inspected=plan.size, reduced_wanted=True) for index in range(1, 11)
    ]
    aql = Decimal("2.5")
    assert standing(ten, aql=aql).state is State.REDUCED
    assert standing([*ten[:9], replace(ten[9], steady=False)], aql=aql).state is State.NORMAL
    assert standing([*ten[:9], replace(ten[9], reduced_wanted=False)], aql=aql).state is State.NORMAL
    assert "all accepted, with 0 bad in 500 pieces; up to 7 are allowed" in standing(ten, aql=aql).why


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"found": 4, "accepted": False}, "B11 was refused on reduced inspection."),
        ({"found": 2}, "B11 had 2 bad, more than the 1 of its plan."),
        ({"steady": False}, "Production was irregular at batch B11."),
        ({"reduced_wanted": False}, "Reduced inspection was no longer wanted at batch B11."),
    ],
)
def test_normal_returns_from_reduced_for_each_of_its_reasons(change: dict[str, object], said: str) -> None:
    normal = SinglePlan(50, 3, 4, "H")
    ten = [replace(batch(index), plan=normal, inspected=50, reduced_wanted=True) for index in range(1, 11)]
    clean = replace(
        batch(11, severity=Severity.REDUCED),
        plan=SinglePlan(20, 1, 4, "H"),
        inspected=20,
        reduced_wanted=True,
    )
    aql = Decimal("2.5")
    assert standing([*ten, clean], aql=aql).state is State.REDUCED
    eleventh = replace(clean, **change)  # type: ignore[arg-type]  # a table of changes of several types
    result = standing([*ten, eleventh], aql=aql)
    assert result.state is State.NORMAL
    assert said in result.why


def score(aql: str, plan: Plan, batches: Sequence[PastBatch]) -> int | None:
    rows = [replace(one, plan=plan) for one in batches]
    return standing(rows, aql=Decimal(aql), rules=Rules.ISO_1999).score


def test_the_score_adds_two_for_small_acceptance_numbers_and_starts_over_at_a_refusal() -> None:
    assert score("1.0", PLAN, [batch(index) for index in range(1, 5)]) == 8
    assert score("1.0", PLAN, [batch(1), batch(2), batch(3, accepted=False), batch(4)]) == 2
    assert standing([], aql=AQL, rules=Rules.ISO_1999).score == 0
    assert standing([], aql=AQL).score is None


def test_the_score_adds_three_only_if_the_batch_would_pass_one_limit_tighter() -> None:
    plan = SinglePlan(80, 5, 6, "J")  # one limit tighter, 1.5 for 2.5, accepts 3
    batches = [replace(batch(index), plan=plan, inspected=80) for index in (1, 2, 3)]
    assert score("2.5", plan, batches) == 9
    assert score("2.5", plan, [*batches[:2], replace(batches[2], found=3)]) == 9
    assert score("2.5", plan, [*batches[:2], replace(batches[2], found=4)]) == 0
    stopped_early = replace(
        batches[2], inspected=78
    )  # accepted for certain, but 2 unseen might have been bad
    assert score("2.5", plan, [*batches[:2], stopped_early]) == 9
    assert score("2.5", plan, [*batches[:2], replace(stopped_early, found=2)]) == 0


def test_the_score_of_a_double_plan_asks_for_the_first_sample_to_pass() -> None:
    plan = DoublePlan(32, 1, 4, 4, 5, "H")
    first = replace(batch(1), plan=plan, inspected=32)
    second = replace(batch(2), plan=plan, inspected=64, found=3)
    assert score("2.5", plan, [first]) == 3
    assert score("2.5", plan, [first, second]) == 0


def test_thirty_points_allow_reduced_inspection() -> None:
    assert earned(AQL, PLAN, [0] * 14, rules=Rules.ISO_1999) is State.NORMAL
    assert earned(AQL, PLAN, [0] * 15, rules=Rules.ISO_1999) is State.REDUCED
    plan = SinglePlan(80, 5, 6, "J")
    assert earned(Decimal("2.5"), plan, [3] * 10, rules=Rules.ISO_1999) is State.REDUCED
    assert earned(Decimal("2.5"), plan, [4] * 30, rules=Rules.ISO_1999) is State.NORMAL


@given(st.text("AR", max_size=30), st.sampled_from(Rules))
def test_each_change_begins_where_the_one_before_ended(letters: str, rules: Rules) -> None:
    result = standing(history(letters, rules=rules), aql=AQL, rules=rules)
    at = State.NORMAL
    for change in result.changes:
        assert change.was is at
        assert change.now is not at
        at = change.now
    assert at is result.state
    assert result.since == (result.changes[-1].after if result.changes else None)


@given(st.text("AR", max_size=20))
def test_one_more_accepted_batch_never_tightens_or_stops(letters: str) -> None:
    before, after = state_after(letters), state_after(letters + "A")
    order = [State.REDUCED, State.NORMAL, State.TIGHTENED, State.STOPPED]
    assert order.index(after) <= order.index(before)


def test_the_runs_of_the_scheme_are_those_of_the_rules() -> None:
    chance = np.random.default_rng(7)
    normal, tightened = 0.8, 0.7
    lengths = []
    for _ in range(600):
        letters = "".join("A" if hit else "R" for hit in chance.random(150) < normal)
        at = re.search("R.{0,3}R", letters)
        assert at is not None
        prefix = letters[: at.end()]
        rows = [batch(index, accepted=letter == "A") for index, letter in enumerate(prefix, 1)]
        result = standing(rows, aql=AQL)
        assert result.state is State.TIGHTENED
        assert len(result.changes) == 1
        lengths.append(len(prefix))
    error = np.std(lengths) / len(lengths) ** 0.5
    assert abs(np.mean(lengths) - run_on_normal(normal)) < 4 * error
    assert run_on_tightened(tightened) == pytest.approx(
        sum(tightened ** (-power) for power in range(1, 6)), rel=1e-12
    )


def test_the_next_severity_is_the_state_unless_sampling_has_stopped() -> None:
    assert next_severity(standing(history("RR"), aql=AQL)) is Severity.TIGHTENED
    with pytest.raises(ImpossibleInput, match="Inspect every piece until the maker has acted"):
        next_severity(standing(history("RRRRRRR"), aql=AQL))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"found": -1}, "Count of batch B1 is -1 of 50"),
        ({"inspected": 51}, "Sample of batch B1 is 51 pieces, more than the 50 of its plan"),
        ({"found": 2}, "Decision on batch B1 is accepted with 2 bad, though its plan refuses with 2"),
        (
            {"accepted": False},
            "Decision on batch B1 is refused with 0 bad, though its plan refuses with 2 at least",
        ),
    ],
)
def test_a_batch_that_contradicts_its_plan_is_refused(change: dict[str, object], said: str) -> None:
    with pytest.raises(ImpossibleInput, match=said):
        replace(batch(1), **change)  # type: ignore[arg-type]  # a table of changes of several types


def test_batches_out_of_order_are_refused_by_name_and_day() -> None:
    with pytest.raises(ImpossibleInput, match="B2 of 2026-01-19 before B1 of 2026-01-12"):
        standing([batch(2), batch(1)], aql=AQL)
    with pytest.raises(ImpossibleInput, match="Quality limit"):
        standing([], aql=Decimal(3))
