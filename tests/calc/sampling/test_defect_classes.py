"""Critical, major, minor: one sample and a decision for each."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import (
    Decision,
    DefectClass,
    DoublePlan,
    Severity,
    SinglePlan,
    choose_plan,
    judge_by_place,
    judge_classes,
    plan_classes,
)

CRITICAL, MAJOR, MINOR = DefectClass
USUAL = {MAJOR: Decimal("2.5"), MINOR: Decimal("4.0")}
PIECES = st.lists(st.sampled_from([None, None, None, *DefectClass]), max_size=30)


def test_each_class_has_the_plan_of_its_own_limit_and_critical_accepts_none() -> None:
    plans = plan_classes(120, USUAL)
    assert plans.plans == {
        CRITICAL: SinglePlan(20, 0, 1),
        MAJOR: SinglePlan(20, 1, 2, "F"),
        MINOR: SinglePlan(20, 2, 3, "F"),
    }
    assert plans.most == plans.first == 20


def test_arrows_give_the_classes_different_samples_and_the_largest_is_drawn() -> None:
    plans = plan_classes(30, {MAJOR: Decimal("2.5"), MINOR: Decimal("4.0")})
    assert plans.plans[MAJOR] == SinglePlan(5, 0, 1, "C")
    assert plans.plans[MINOR] == SinglePlan(13, 1, 2, "E")
    assert plans.most == 13


def test_what_to_draw_and_which_pieces_count_is_said() -> None:
    notes = plan_classes(30, USUAL).notes
    assert notes[:2] == (
        "Draw 13 pieces; critical defects are looked for on every one.",
        "Major defects are judged on the first 5 drawn.",
    )
    assert notes[2].startswith("Major: Letter D has no plan at AQL 2.5")
    assert plan_classes(120, USUAL).notes == (
        "Draw 20 pieces; critical defects are looked for on every one.",
    )


def test_a_class_is_judged_on_its_own_first_pieces_only() -> None:
    plans = plan_classes(30, USUAL)
    late = [None] * 6 + [MAJOR] + [None] * 6
    assert judge_classes(plans, late).decision is Decision.ACCEPT
    early = [None] * 4 + [MAJOR]
    assert judge_classes(plans, early).decision is Decision.REFUSE


def test_a_critical_defect_refuses_on_any_piece_that_was_looked_at() -> None:
    plans = plan_classes(30, USUAL)
    for place in range(13):
        pieces = [None] * place + [CRITICAL]
        assert judge_classes(plans, pieces).decision is Decision.REFUSE
    beyond = [None] * 20 + [CRITICAL]
    assert judge_classes(plans, beyond).decision is Decision.REFUSE


def test_critical_is_never_accepted_before_the_sample_is_seen_whole() -> None:
    plans = plan_classes(120, USUAL)
    assert judge_classes(plans, [None] * 19).decision is Decision.GO_ON
    assert judge_classes(plans, [None] * 20).decision is Decision.ACCEPT


def test_with_double_plans_the_second_sample_is_asked_for_by_the_class_in_doubt_alone() -> None:
    plans = plan_classes(120, USUAL, double=True)
    clean = judge_classes(plans, [None] * 13)
    assert clean.decision is Decision.ACCEPT
    doubt = judge_classes(plans, [MAJOR] + [None] * 12)
    assert doubt.decision is Decision.GO_ON
    assert doubt.standings[MINOR].decision is Decision.ACCEPT
    assert doubt.standings[CRITICAL].left == 13
    assert judge_classes(plans, [MAJOR] + [None] * 25).decision is Decision.ACCEPT


def test_each_class_may_stand_at_its_own_severity() -> None:
    plans = plan_classes(500, USUAL, severities={MINOR: Severity.TIGHTENED})
    assert plans.plans[MAJOR] == choose_plan(500, Decimal("2.5")).plan
    assert plans.plans[MINOR] == choose_plan(500, Decimal("4.0"), severity=Severity.TIGHTENED).plan


def test_the_words_name_the_classes_that_refuse_or_all_that_stand() -> None:
    plans = plan_classes(120, USUAL)
    refused = judge_classes(plans, [CRITICAL, MAJOR])
    assert [words.split(":")[0] for words in refused.words] == ["Critical"]
    assert [words.split(":")[0] for words in judge_classes(plans, [MAJOR]).words] == [
        "Critical",
        "Major",
        "Minor",
    ]
    assert refused.may_stop


@given(PIECES, st.sampled_from([None, *DefectClass]))
def test_a_final_decision_on_all_classes_stays_unless_a_critical_defect_follows(
    pieces: list[DefectClass | None], more: DefectClass | None
) -> None:
    plans = plan_classes(30, USUAL)
    before = judge_classes(plans, pieces).decision
    after = judge_classes(plans, [*pieces, more]).decision
    if before is Decision.REFUSE or (before is Decision.ACCEPT and more is not CRITICAL):
        assert after is before


@given(PIECES)
def test_the_batch_is_accepted_only_when_every_class_is(pieces: list[DefectClass | None]) -> None:
    verdict = judge_classes(plan_classes(30, USUAL), pieces)
    each = {standing.decision for standing in verdict.standings.values()}
    assert (verdict.decision is Decision.ACCEPT) == (each == {Decision.ACCEPT})
    assert (verdict.decision is Decision.REFUSE) == (Decision.REFUSE in each)


@pytest.mark.parametrize(
    ("aqls", "said"),
    [
        ({CRITICAL: Decimal("0.10"), MAJOR: Decimal("2.5")}, "no critical defect is ever accepted"),
        ({}, "Quality limits is an empty list"),
        ({MAJOR: Decimal(15)}, "Quality limit of major defects is 15, which counts defects"),
        ({MAJOR: Decimal(3)}, r"Take 2\.5 or 4\.0"),
    ],
)
def test_impossible_limits_are_refused(aqls: dict[DefectClass, Decimal], said: str) -> None:
    with pytest.raises(ImpossibleInput, match=said):
        plan_classes(80, aqls)


def test_the_order_of_measuring_changes_nothing() -> None:
    plans = plan_classes(80, USUAL)
    found = {20: MAJOR, 3: None, 4: MAJOR}
    assert judge_by_place(plans, found).decision is Decision.REFUSE


def test_the_second_sample_counts_once_the_first_is_complete() -> None:
    plans = plan_classes(300, {MAJOR: Decimal("2.5")}, double=True)
    plan = plans.plans[MAJOR]
    assert isinstance(plan, DoublePlan)
    ahead = dict.fromkeys(range(plan.size + 1, plan.size + plan.reject + 1), MAJOR)
    assert judge_by_place(plans, ahead).standings[MAJOR].bad == 0
    complete: dict[int, DefectClass | None] = dict.fromkeys(range(1, plan.size + 1))
    complete |= {1: MAJOR, 2: MAJOR}  # between accepting and refusing
    assert judge_by_place(plans, {**complete, **ahead}).decision is Decision.REFUSE
