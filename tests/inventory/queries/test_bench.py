"""The walk, what is asked next, what is shown of the point just read, and the lists of the bench."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.calc.conformity import Verdict
from inventory.models import DecisionRule, Inspection, Piece, Shop, SlipQuestion, UnreadSide
from inventory.models.people import Role
from inventory.queries.bench.asking import Ask, Asked, outcome_at, to_correct, what_next
from inventory.queries.bench.lists import batches_to_measure, next_piece_of, sittings_in_progress
from inventory.queries.bench.sheet import PieceNotFound, Sheet, sheet_of
from inventory.queries.bench.walk import Step
from inventory.services import inspections
from tests.factories import (
    NOW,
    PointRecipe,
    make_batch,
    make_inspection,
    make_piece,
    make_reading,
    make_spec,
    make_user,
    measure_all,
)

pytestmark = pytest.mark.django_db

# Size 24: half underbust 405 ±8, half waist 355 ±6, centre front 305 ±5; repeat SD 1 mm, of two people 1.5.


@pytest.fixture
def piece() -> Piece:
    return make_piece()


@pytest.fixture
def sitting(piece: Piece) -> Inspection:
    return make_inspection(piece)


def sheet(piece: Piece) -> Sheet:
    return sheet_of(piece.number)


def step(of: Sheet, name: str) -> Step:
    found = of.step_named(name)
    assert found is not None
    return found


def asked_after(piece: Piece, name: str) -> Asked:
    lying = sheet(piece)
    return what_next(lying, after=step(lying, name))


# --- the walk --------------------------------------------------------------------------------------------


def test_the_walk_goes_down_the_left_then_down_the_right_with_single_points_on_the_left() -> None:
    recipes = (
        PointRecipe("UB", "half underbust"),
        PointRecipe("BU", "busk", kind="length", sides="single", asymmetry_mm=None),
        PointRecipe("WA", "half waist"),
    )
    walk = sheet(make_piece(make_batch(make_spec(points=recipes)))).walk
    assert [each.key for each in walk] == ["UB-L", "BU-S", "WA-L", "UB-R", "WA-R"]
    assert [each.number for each in walk] == [1, 2, 3, 4, 5]
    assert [each.words for each in walk][:2] == ["half underbust, left", "busk"]


def test_a_piece_that_does_not_exist_is_named() -> None:
    with pytest.raises(PieceNotFound, match="P000042"):
        sheet_of(42)
    with pytest.raises(PieceNotFound):
        sheet_of(10**18)


def test_a_sheet_takes_the_same_six_queries_however_much_was_read(
    piece: Piece, sitting: Inspection, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    sheet(piece)  # the plans are kept in memory from here on
    with django_assert_num_queries(6):
        sheet(piece)
    measure_all(sitting)
    for reading in sitting.readings.all():
        SlipQuestion.objects.create(reading=reading, kind="tens", question="Really?")
    with django_assert_num_queries(6):
        full = sheet(piece)
        assert len(full.readings) == 6
        assert (
            len({(each.reading.point.code, each.reading.taken_by.username) for each in full.questions}) == 3
        )


# --- what is asked next ----------------------------------------------------------------------------------


def test_the_first_step_is_asked_before_there_is_a_sitting(piece: Piece) -> None:
    asked = what_next(sheet(piece))
    assert (asked.kind, asked.step and asked.step.key) == (Ask.READ, "UB-L")


def test_a_point_read_in_tolerance_leads_to_the_next_step(piece: Piece, sitting: Inspection) -> None:
    make_reading(sitting, "UB", "L", mm=405)
    asked = asked_after(piece, "UB-L")
    assert (asked.kind, asked.step and asked.step.key) == (Ask.READ, "WA-L")


def test_an_open_slip_question_comes_before_everything(piece: Piece, sitting: Inspection) -> None:
    reading = make_reading(sitting, "UB", "L", mm=810)
    question = SlipQuestion.objects.create(reading=reading, kind="full_for_half", question="Full?")
    asked = what_next(sheet(piece))
    assert (asked.kind, asked.question, asked.corrects) == (Ask.QUESTION, question, reading)
    SlipQuestion.objects.update(answer="kept")
    assert what_next(sheet(piece)).kind is Ask.READ


def test_the_second_guess_at_the_same_reading_is_asked_along_and_that_at_another_is_not(
    piece: Piece, sitting: Inspection
) -> None:
    reading, later = make_reading(sitting, "UB", "L", mm=395), make_reading(sitting, "WA", "L", mm=345)
    first, elsewhere, second = (
        SlipQuestion.objects.create(reading=of, kind="tens", question="Tens?")
        for of in (reading, later, reading)
    )
    asked = what_next(sheet(piece))
    assert (asked.question, asked.or_else) == (first, second)
    SlipQuestion.objects.filter(reading=reading).update(answer="kept")
    asked = what_next(sheet(piece))
    assert (asked.question, asked.or_else) == (elsewhere, None)


def test_a_question_about_a_reading_that_was_corrected_is_not_asked(
    piece: Piece, sitting: Inspection
) -> None:
    wrong = make_reading(sitting, "UB", "L", mm=810)
    SlipQuestion.objects.create(reading=wrong, kind="full_for_half", question="Full?")
    make_reading(sitting, "UB", "L", mm=405, corrects=wrong, reason="full girth typed")
    assert what_next(sheet(piece)).kind is Ask.READ


def test_a_side_too_close_to_call_is_asked_again_at_once_and_at_most_four_times(
    piece: Piece, sitting: Inspection
) -> None:
    make_reading(sitting, "WA", "L", mm=361)  # exactly at the limit: repeats in the middle settle nothing
    for nth in (2, 3, 4):
        asked = asked_after(piece, "WA-L")
        assert (asked.kind, asked.step and asked.step.key) == (Ask.AGAIN, "WA-L")
        assert (asked.nth, asked.most) == (nth, 4)
        make_reading(sitting, "WA", "L", mm=361, repeat=nth)
    lying = sheet(piece)
    asked = what_next(lying, after=step(lying, "WA-L"))
    assert (asked.kind, asked.step and asked.step.key) == (Ask.READ, "UB-L")
    outcome = outcome_at(lying, step(lying, "WA-L"), asked=asked)
    assert outcome is not None
    assert (outcome.verdict, outcome.by_final_rule, outcome.again) == (Verdict.IN, True, None)


def test_repeats_that_settle_it_end_the_asking(piece: Piece, sitting: Inspection) -> None:
    make_reading(sitting, "WA", "L", mm=359)
    assert asked_after(piece, "WA-L").kind is Ask.AGAIN
    make_reading(sitting, "WA", "L", mm=352, repeat=2)
    assert asked_after(piece, "WA-L").kind is Ask.READ


def test_left_against_right_too_close_asks_for_the_half_in_hand_then_for_the_one_read_less(
    piece: Piece, sitting: Inspection
) -> None:
    make_reading(sitting, "CF", "L", mm=303.5)
    make_reading(sitting, "CF", "R", mm=306.5)  # 3 mm apart, limit 3
    assert (asked := asked_after(piece, "CF-R")).step is not None
    assert (asked.kind, asked.step.key) == (Ask.AGAIN, "CF-R")
    make_reading(sitting, "CF", "R", mm=306.5, repeat=2)
    assert (asked := asked_after(piece, "CF-R")).step is not None
    assert (asked.kind, asked.step.key) == (Ask.AGAIN, "CF-L")


def test_a_full_girth_tolerance_asks_for_no_repeat_of_a_half_alone() -> None:
    piece = make_piece(make_batch(make_spec(points=(PointRecipe("WA", "half waist", basis="full"),))))
    sitting = make_inspection(piece)
    make_reading(sitting, "WA", "L", mm=358)  # the half's share of the tolerance ends at 358
    assert (asked := asked_after(piece, "WA-L")).step is not None
    assert (asked.kind, asked.step.key) == (Ask.READ, "WA-R")
    make_reading(sitting, "WA", "R", mm=358)
    assert asked_after(piece, "WA-R").kind is Ask.AGAIN


def test_an_informational_point_is_read_once_and_judged_never() -> None:
    recipe = PointRecipe("TH", "thickness", kind="length", informational=True)
    piece = make_piece(make_batch(make_spec(points=(recipe,))))
    sitting = make_inspection(piece)
    make_reading(sitting, "TH", "L", mm=361)
    lying = sheet(piece)
    asked = what_next(lying, after=step(lying, "TH-L"))
    outcome = outcome_at(lying, step(lying, "TH-L"), asked=asked)
    assert (asked.kind, asked.step and asked.step.key) == (Ask.READ, "TH-R")
    assert outcome is not None
    assert outcome.informational


def waist_only() -> Piece:
    """A piece with one point and no left-right limit, so that only the halves and the full girth count."""
    return make_piece(make_batch(make_spec(points=(PointRecipe("WA", "half waist", asymmetry_mm=None),))))


def test_what_was_left_for_later_is_asked_again_at_the_end_and_then_finish() -> None:
    piece = waist_only()
    sitting = make_inspection(piece)
    make_reading(sitting, "WA", "L", mm=361)
    assert (later := what_next(sheet(piece))).step is not None
    assert (later.kind, later.step.key) == (Ask.READ, "WA-R")
    make_reading(sitting, "WA", "R", mm=355)
    assert (left := what_next(sheet(piece))).step is not None
    assert (left.kind, left.step.key, left.nth) == (Ask.AGAIN, "WA-L", 2)
    for nth in (2, 3, 4):
        make_reading(sitting, "WA", "L", mm=361, repeat=nth)
    assert what_next(sheet(piece)).kind is Ask.FINISH


def test_a_rule_that_never_ends_plainly_still_asks_no_more_than_its_number() -> None:
    rule = DecisionRule.objects.create(
        code="shelf-two",
        purpose="shelf",
        name="Two",
        multiplier=Decimal("1.645"),
        max_repeats=2,
        at_the_end="stays_close",
    )
    Shop.objects.update(shelf_rule=rule)
    piece = waist_only()
    sitting = make_inspection(piece)
    measure_all(sitting, off_mm={("WA", "L"): 6})
    assert what_next(sheet(piece)).most == 2
    make_reading(sitting, "WA", "L", mm=361, repeat=2)
    lying = sheet(piece)
    asked = what_next(lying)
    outcome = outcome_at(lying, step(lying, "WA-L"), asked=asked)
    assert asked.kind is Ask.FINISH
    assert outcome is not None
    assert (outcome.verdict, outcome.by_final_rule) == (Verdict.CLOSE, False)


def test_a_side_that_cannot_be_read_is_not_asked_for(piece: Piece, sitting: Inspection) -> None:
    lying = sheet(piece)
    UnreadSide.objects.create(
        inspection=sitting,
        point=step(lying, "UB-L").point,
        side="L",
        reason="torn",
        noted_by=make_user(),
        noted_at=NOW,
    )
    assert (asked := what_next(sheet(piece))).step is not None
    assert asked.step.key == "WA-L"
    assert sheet(piece).only_one_half == {"UB"}


def test_a_step_can_be_asked_for_by_name(piece: Piece, sitting: Inspection) -> None:
    make_reading(sitting, "UB", "L", mm=405)
    lying = sheet(piece)
    assert what_next(lying, at=step(lying, "CF-R")).kind is Ask.READ
    again = what_next(lying, at=step(lying, "UB-L"))
    assert (again.kind, again.nth) == (Ask.AGAIN, 2)


def test_only_a_reading_in_effect_can_be_corrected(piece: Piece, sitting: Inspection) -> None:
    old = make_reading(sitting, "UB", "L", mm=450)
    asked = to_correct(sheet(piece), old.pk)
    assert asked is not None
    assert (asked.kind, asked.corrects, asked.step and asked.step.key) == (Ask.CORRECT, old, "UB-L")
    make_reading(sitting, "UB", "L", mm=405, corrects=old, reason="slip")
    assert to_correct(sheet(piece), old.pk) is None


# --- what is shown ---------------------------------------------------------------------------------------


def test_figures_stay_hidden_while_the_same_point_is_asked_for(piece: Piece, sitting: Inspection) -> None:
    make_reading(sitting, "WA", "L", mm=361)
    lying = sheet(piece)
    waist = step(lying, "WA-L")
    again = outcome_at(lying, waist, asked=what_next(lying, after=waist))
    other_side = outcome_at(lying, waist, asked=Asked(Ask.READ, step=step(lying, "WA-R")))
    elsewhere = outcome_at(lying, waist, asked=Asked(Ask.READ, step=step(lying, "CF-L")))
    assert again is not None and other_side is not None and elsewhere is not None  # noqa: PT018
    assert (again.withheld, other_side.withheld, elsewhere.withheld) == (True, True, False)
    Inspection.objects.update(blind=False)
    lying = sheet(piece)
    seen = outcome_at(lying, step(lying, "WA-L"), asked=Asked(Ask.READ, step=step(lying, "WA-R")))
    assert seen is not None
    assert not seen.withheld


def test_left_against_right_and_the_full_girth_are_shown_once_both_halves_are_in(
    piece: Piece, sitting: Inspection
) -> None:
    make_reading(sitting, "WA", "L", mm=355)
    lying = sheet(piece)
    first = outcome_at(lying, step(lying, "WA-L"), asked=what_next(lying))
    assert first is not None
    assert (first.other, first.pair, first.full) == (None, None, None)
    make_reading(sitting, "WA", "R", mm=357)
    lying = sheet(piece)
    both = outcome_at(lying, step(lying, "WA-R"), asked=what_next(lying))
    assert both is not None and both.pair is not None and both.full is not None  # noqa: PT018
    assert both.other is not None
    assert (both.pair.value_nm, both.full.value_nm, both.other.value_nm) == (
        -2_000_000,
        712_000_000,
        355_000_000,
    )


def test_a_step_that_was_not_read_has_no_outcome(piece: Piece) -> None:
    lying = sheet(piece)
    assert outcome_at(lying, step(lying, "WA-L"), asked=what_next(lying)) is None


# --- lists -----------------------------------------------------------------------------------------------


def _judged(piece: Piece) -> None:
    sitting = make_inspection(piece)
    measure_all(sitting)
    inspections.finish_inspection(inspection=sitting, by=make_user(Role.OWNER), at=NOW)


def test_what_is_still_to_measure_counts_pieces_on_hold_without_a_verdict(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    done, batch = make_batch(), make_batch()
    _judged(make_piece(done))
    pieces = [make_piece(batch) for _ in range(4)]
    _judged(pieces[0])
    make_piece(batch, standing="scrap")
    with django_assert_num_queries(3):
        (waiting,) = batches_to_measure()
    assert (waiting.batch, waiting.waiting, waiting.pieces, waiting.judged) == (batch, 3, 5, 2)
    assert waiting.first == pieces[1].number


def test_sittings_in_progress_are_named_with_who_and_how_far(
    piece: Piece, sitting: Inspection, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    wrong = make_reading(sitting, "UB", "L", mm=450)
    make_reading(sitting, "UB", "L", mm=405, corrects=wrong, reason="slip")
    make_inspection(make_piece(piece.batch), opened_at=NOW - dt.timedelta(days=1))
    make_inspection(piece, finished_at=NOW)
    with django_assert_num_queries(1):
        newest, oldest = sittings_in_progress()
    assert (newest.label, newest.readings, newest.opened_by) == (
        piece.label,
        1,
        sitting.opened_by.username,
    )
    assert oldest.readings == 0


def test_the_next_piece_follows_by_number_and_begins_again_at_the_first() -> None:
    batch = make_batch()
    first, second, third = (make_piece(batch) for _ in range(3))
    make_piece()
    assert next_piece_of(first) == second
    _judged(second)
    assert next_piece_of(first) == third
    assert next_piece_of(third) == first
    _judged(first)
    assert next_piece_of(third) is None
