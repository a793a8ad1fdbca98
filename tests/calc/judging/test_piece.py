"""One point and one piece: which findings there are, which of them decide, and what is still missing."""

from dataclasses import replace
from typing import TypedDict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Rule, Verdict, code_of
from inventory.calc.errors import ImpossibleInput
from inventory.calc.judging import Aspect, Finding, PieceJudgement, PointPlan, Taken, judge_piece, judge_point
from inventory.calc.plan import Kind
from inventory.calc.symmetry import PairLimit
from tests.calc.plans import MM, half, length, plan_lists, point_plans, rule_pairs, small_lengths


class _Rules(TypedDict):
    shelf: Rule
    claim: Rule


RULES: _Rules = {"shelf": DEFAULT_SHELF, "claim": DEFAULT_CLAIM}
deviations = small_lengths.flatmap(lambda off: st.sampled_from((-off, off)))


def at(*, left_mm: float | None = None, right_mm: float | None = None, readings: int = 1) -> dict[str, Taken]:
    """Readings of a paired point."""
    sides = {"L": left_mm, "R": right_mm}
    return {side: Taken(round(mm * MM), readings) for side, mm in sides.items() if mm is not None}


def of(findings: tuple[Finding, ...], aspect: Aspect) -> Finding:
    """The one finding of an aspect."""
    (found,) = [finding for finding in findings if finding.aspect is aspect]
    return found


def judge_waist(plan: PointPlan, *, left_mm: float, right_mm: float) -> PieceJudgement:
    taken = {("WA", side): t for side, t in at(left_mm=left_mm, right_mm=right_mm).items()}
    return judge_piece([plan], taken, **RULES)


def test_both_halves_stated_per_half_decide_and_so_does_the_full_girth() -> None:
    found = judge_point(half(), at(left_mm=331, right_mm=338), **RULES)
    assert [f.aspect for f in found] == [Aspect.LEFT, Aspect.RIGHT, Aspect.FULL]
    assert all(f.deciding for f in found)
    full = of(found, Aspect.FULL)
    assert (full.value_nm, full.nominal_nm) == (669 * MM, 660 * MM)
    assert (full.lower_nm, full.upper_nm) == (648 * MM, 672 * MM)
    assert full.u_nm == 1_414_214  # √2 × 1 mm, rounded up
    assert not full.from_one_half


def test_a_tolerance_for_the_full_girth_lets_one_half_make_up_for_the_other() -> None:
    found = judge_point(half(basis="full", tolerance_nm=10 * MM), at(left_mm=338, right_mm=322), **RULES)
    assert of(found, Aspect.LEFT).shelf is Verdict.OUT
    assert not of(found, Aspect.LEFT).deciding
    assert not of(found, Aspect.RIGHT).deciding
    full = of(found, Aspect.FULL)
    assert (full.lower_nm, full.upper_nm) == (650 * MM, 670 * MM)
    assert full.deciding
    assert full.shelf is Verdict.IN
    assert (
        judge_waist(half(basis="full", tolerance_nm=10 * MM), left_mm=338, right_mm=322).shelf is Verdict.IN
    )


def test_a_left_right_limit_catches_what_the_full_girth_forgives() -> None:
    plan = half(basis="full", tolerance_nm=10 * MM, pair_limit=PairLimit(6 * MM))
    judged = judge_waist(plan, left_mm=338, right_mm=322)
    assert judged.shelf is Verdict.OUT
    assert (judged.worst_code, judged.worst_aspect) == ("WA", Aspect.PAIR)
    pair = of(judged.findings["WA"], Aspect.PAIR)
    assert (pair.value_nm, pair.nominal_nm, pair.lower_nm, pair.upper_nm) == (16 * MM, 0, -6 * MM, 6 * MM)
    assert pair.beyond_nm == 10 * MM


def test_one_half_only_shows_a_full_girth_with_the_wider_uncertainty_that_does_not_decide() -> None:
    found = judge_point(half(pair_limit=PairLimit(6 * MM)), at(left_mm=331), **RULES)
    assert [f.aspect for f in found] == [Aspect.LEFT, Aspect.FULL]
    full = of(found, Aspect.FULL)
    assert full.value_nm == 662 * MM
    # √((2·1)² + (6/√3)²) = 4 mm
    assert full.u_nm in (4 * MM, 4 * MM + 1)
    assert full.from_one_half
    assert not full.deciding


def test_twice_one_half_decides_where_the_other_cannot_be_read() -> None:
    plan = half(pair_limit=PairLimit(6 * MM))
    taken = {("WA", "L"): Taken(331 * MM)}
    open_piece = judge_piece([plan], taken, **RULES)
    assert (open_piece.shelf, open_piece.missing) == (None, (("WA", "R"),))
    judged = judge_piece([plan], taken, **RULES, one_half_will_do={"WA"})
    full = of(judged.findings["WA"], Aspect.FULL)
    assert judged.complete
    assert judged.missing == ()
    assert full.deciding
    assert full.from_one_half
    assert full.u_nm - 4_000_000 in (0, 1)  # √(4·1² + (6/√3)²) mm, rounded up
    assert judged.shelf is Verdict.IN


def test_the_wider_uncertainty_of_one_half_leaves_close_what_two_halves_would_settle() -> None:
    plan = half(pair_limit=PairLimit(6 * MM))
    both = {("WA", "L"): Taken(334 * MM), ("WA", "R"): Taken(334 * MM)}
    assert judge_piece([plan], both, **RULES).shelf is Verdict.IN
    one = {("WA", "L"): Taken(334 * MM, readings=4)}
    judged = judge_piece([plan], one, **RULES, one_half_will_do={"WA"})
    assert (judged.shelf, judged.worst_aspect) == (Verdict.CLOSE, Aspect.FULL)


def test_one_half_stands_in_only_for_a_half_girth_and_only_when_it_was_read() -> None:
    paired_length = length(paired=True)
    taken = {("CF", "L"): Taken(320 * MM)}
    assert judge_piece([paired_length], taken, **RULES, one_half_will_do={"CF"}).missing == (("CF", "R"),)
    assert judge_piece([half()], {}, **RULES, one_half_will_do={"WA"}).missing == (("WA", "L"), ("WA", "R"))


def test_repeats_of_one_half_never_close_the_question_of_the_other() -> None:
    plan = half(pair_limit=PairLimit(6 * MM))
    found = judge_point(plan, at(left_mm=335.5, readings=4), **RULES)
    assert of(found, Aspect.LEFT).by_final_rule
    full = of(found, Aspect.FULL)
    assert full.readings == 4
    assert full.shelf is Verdict.CLOSE
    assert not full.by_final_rule


def test_a_half_laid_closed_is_doubled_without_a_guess() -> None:
    found = judge_point(half(paired=False), {"S": Taken(331 * MM)}, **RULES)
    full = of(found, Aspect.FULL)
    assert (full.value_nm, full.u_nm) == (662 * MM, 2 * MM)
    assert (full.lower_nm, full.upper_nm) == (648 * MM, 672 * MM)
    assert not full.from_one_half
    assert of(found, Aspect.SINGLE).deciding
    assert not full.deciding


def test_a_half_laid_closed_with_a_tolerance_for_the_full_girth_is_judged_as_full() -> None:
    found = judge_point(
        half(paired=False, basis="full", tolerance_nm=10 * MM), {"S": Taken(337 * MM)}, **RULES
    )
    assert not of(found, Aspect.SINGLE).deciding
    full = of(found, Aspect.FULL)
    assert full.deciding
    assert full.shelf is Verdict.OUT
    assert full.claim is Verdict.CLOSE
    assert full.beyond_nm == 4 * MM


KINDS: tuple[Kind, ...] = ("length", "placement", "full")


@pytest.mark.parametrize("kind", KINDS)
def test_other_kinds_have_no_full_girth_of_halves(kind: Kind) -> None:
    plan = replace(length(paired=True), kind=kind)
    found = judge_point(plan, at(left_mm=320, right_mm=321), **RULES)
    assert [f.aspect for f in found] == [Aspect.LEFT, Aspect.RIGHT]
    assert all(f.deciding for f in found)


def test_two_people_shrink_a_habit_that_two_readings_by_one_do_not() -> None:
    plan = length(sd_nm=0, person_sd_nm=2 * MM)
    alone = of(judge_point(plan, {"S": Taken(320 * MM, 2, 1)}, **RULES), Aspect.SINGLE)
    together = of(judge_point(plan, {"S": Taken(320 * MM, 2, 2)}, **RULES), Aspect.SINGLE)
    assert alone.u_nm == 2 * MM
    assert together.u_nm == 1_414_214


def test_the_shelf_may_let_through_by_the_final_rule_what_no_claim_can_rest_on() -> None:
    found = of(judge_point(length(), {"S": Taken(325_100_000, 4)}, **RULES), Aspect.SINGLE)
    assert (found.shelf, found.by_final_rule) == (Verdict.OUT, True)
    assert found.claim is Verdict.CLOSE
    assert found.beyond_nm == 100_000
    assert (found.shelf_guard_nm, found.claim_guard_nm) == (411_250, 500_000)


def test_the_full_girth_rests_on_the_half_that_was_read_less_often() -> None:
    taken = {"L": Taken(336 * MM, 4), "R": Taken(336 * MM, 2)}
    found = judge_point(half(), taken, **RULES)
    assert of(found, Aspect.LEFT).by_final_rule
    assert of(found, Aspect.FULL).readings == 2
    assert of(found, Aspect.FULL).shelf is Verdict.CLOSE


def test_nothing_read_is_nothing_found() -> None:
    assert judge_point(half(pair_limit=PairLimit(MM)), {}, **RULES) == ()


@pytest.mark.parametrize(("plan", "side"), [(half(), "S"), (length(), "L"), (half(), "X")])
def test_a_side_the_point_does_not_have_is_refused(plan: PointPlan, side: str) -> None:
    with pytest.raises(ImpossibleInput, match=f'Side of {plan.code} is "{side}"'):
        judge_point(plan, {side: Taken(330 * MM)}, **RULES)


def test_a_rule_in_the_wrong_place_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Shelf rule is claim-proved, a claim rule"):
        judge_point(half(), {}, shelf=DEFAULT_CLAIM, claim=DEFAULT_CLAIM)
    with pytest.raises(ImpossibleInput, match="Claim rule is shelf-guarded, a shelf rule"):
        judge_piece([], {}, shelf=DEFAULT_SHELF, claim=DEFAULT_SHELF)


@pytest.mark.parametrize(("readings", "people"), [(0, 1), (-1, 1), (1, 0), (1, 2)])
def test_impossible_counts_are_refused(readings: int, people: int) -> None:
    with pytest.raises(ImpossibleInput, match="Number of"):
        Taken(MM, readings, people)


def test_a_piece_has_no_verdict_until_every_side_is_read() -> None:
    plans = [half(), length()]
    taken = {("WA", "L"): Taken(330 * MM), ("CF", "S"): Taken(340 * MM)}
    judged = judge_piece(plans, taken, **RULES)
    assert (judged.shelf, judged.claim, judged.complete) == (None, None, False)
    assert judged.missing == (("WA", "R"),)
    assert (judged.worst_code, judged.worst_aspect) == ("CF", Aspect.SINGLE)
    done = judge_piece(plans, {**taken, ("WA", "R"): Taken(330 * MM)}, **RULES)
    assert (done.shelf, done.claim, done.complete, done.missing) == (Verdict.OUT, Verdict.OUT, True, ())


def test_a_piece_of_which_nothing_was_read_names_no_worst_point() -> None:
    judged = judge_piece([half()], {}, **RULES)
    assert (judged.worst_code, judged.worst_aspect, judged.shelf) == (None, None, None)
    assert judged.findings == {"WA": ()}


def test_a_piece_with_no_plan_is_never_complete() -> None:
    judged = judge_piece([], {}, **RULES)
    assert not judged.complete
    assert judged.shelf is None


def test_readings_of_points_outside_the_plan_do_not_count() -> None:
    taken = {("CF", "S"): Taken(320 * MM), ("XX", "S"): Taken(1)}
    judged = judge_piece([length()], taken, **RULES)
    assert judged.shelf is Verdict.IN
    assert set(judged.findings) == {"CF"}


def test_among_points_equally_bad_the_one_using_most_of_its_tolerance_is_named() -> None:
    plans = [length("CF", minus_nm=6 * MM, plus_nm=6 * MM), length("EY", minus_nm=2 * MM, plus_nm=2 * MM)]
    taken = {("CF", "S"): Taken(329 * MM), ("EY", "S"): Taken(324 * MM)}
    judged = judge_piece(plans, taken, **RULES)
    assert judged.worst_code == "EY"


def test_a_point_without_any_tolerance_comes_first_once_it_is_off() -> None:
    plans = [length("CF"), length("EX", minus_nm=0, plus_nm=0, sd_nm=0)]
    judged = judge_piece(plans, {("CF", "S"): Taken(340 * MM), ("EX", "S"): Taken(320 * MM + 1)}, **RULES)
    assert judged.worst_code == "EX"
    exact = judge_piece(plans, {("CF", "S"): Taken(321 * MM), ("EX", "S"): Taken(320 * MM)}, **RULES)
    assert (exact.worst_code, exact.shelf) == ("CF", Verdict.IN)


@given(plan=point_plans(), left=deviations, right=deviations, readings=st.integers(1, 5), rules=rule_pairs())
def test_swapping_the_sides_swaps_the_findings_and_keeps_the_piece_s_verdict(
    *, plan: PointPlan, left: int, right: int, readings: int, rules: tuple[Rule, Rule]
) -> None:
    if not plan.paired:
        plan = replace(plan, paired=True)
    shelf, claim = rules
    a, b = Taken(plan.nominal_nm + left, readings), Taken(plan.nominal_nm + right)
    one = judge_piece([plan], {("P", "L"): a, ("P", "R"): b}, shelf=shelf, claim=claim)
    other = judge_piece([plan], {("P", "L"): b, ("P", "R"): a}, shelf=shelf, claim=claim)
    assert (one.shelf, one.claim) == (other.shelf, other.claim)
    swap = {Aspect.LEFT: Aspect.RIGHT, Aspect.RIGHT: Aspect.LEFT}
    turned = {
        replace(f, aspect=swap.get(f.aspect, f.aspect), value_nm=-f.value_nm)
        if f.aspect is Aspect.PAIR
        else replace(f, aspect=swap.get(f.aspect, f.aspect))
        for f in other.findings["P"]
    }
    assert set(one.findings["P"]) == turned


@given(plans=plan_lists(least=1), data=st.data(), rules=rule_pairs())
def test_the_worst_deciding_finding_decides(
    *, plans: list[PointPlan], data: st.DataObject, rules: tuple[Rule, Rule]
) -> None:
    shelf, claim = rules
    taken: dict[tuple[str, str], Taken] = {
        (plan.code, side): Taken(plan.nominal_nm + data.draw(deviations), data.draw(st.integers(1, 5)))
        for plan in plans
        for side in plan.sides
    }
    judged = judge_piece(plans, taken, shelf=shelf, claim=claim)
    deciding = [f for found in judged.findings.values() for f in found if f.deciding]
    assert judged.shelf is not None
    assert judged.claim is not None
    assert code_of(judged.shelf) == max(code_of(f.shelf) for f in deciding)
    assert code_of(judged.claim) == max(code_of(f.claim) for f in deciding)
    assert judged.worst_code is not None
    assert judged.worst_aspect is not None
    named = of(judged.findings[judged.worst_code], judged.worst_aspect)
    assert named.deciding
    assert named.shelf is judged.shelf


@given(plan=point_plans(), data=st.data())
def test_halves_that_are_both_in_give_a_full_girth_that_is_in(
    *, plan: PointPlan, data: st.DataObject
) -> None:
    plan = replace(plan, kind="half", basis="half", paired=True)
    taken = {
        side: Taken(plan.nominal_nm + data.draw(deviations), data.draw(st.integers(1, 3))) for side in "LR"
    }
    found = judge_point(plan, taken, **RULES)
    if of(found, Aspect.LEFT).shelf is of(found, Aspect.RIGHT).shelf is Verdict.IN:
        assert of(found, Aspect.FULL).shelf is Verdict.IN
