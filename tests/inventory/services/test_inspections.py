"""Sittings at the bench: what is stored, asked and refused, and what becomes of two that come at once."""

from __future__ import annotations

import datetime as dt
import uuid
from dataclasses import replace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pytest_django import DjangoAssertNumQueries

from inventory.access import NotAllowed
from inventory.calc import length
from inventory.calc.errors import LengthNotUnderstood
from inventory.models import (
    AuditRow,
    Inspection,
    Piece,
    PieceVerdict,
    Reading,
    Shop,
    SlipQuestion,
    UnreadSide,
    User,
)
from inventory.models.inspections import PieceState, Source
from inventory.models.people import Role
from inventory.queries.bench.sheet import PieceNotFound
from inventory.queries.plans import SizeNotInSpec, plans_of
from inventory.services import inspections
from inventory.services.inspections import Recorded, TypedReading
from inventory.services.judging import NotYetMeasured
from tests.factories import (
    MM,
    NOW,
    PointRecipe,
    make_batch,
    make_inspection,
    make_instrument,
    make_piece,
    make_reading,
    make_spec,
    make_user,
    measure_all,
)

pytestmark = pytest.mark.django_db

LATER = NOW + dt.timedelta(minutes=5)


@pytest.fixture
def inspector() -> User:
    return make_user(Role.INSPECTOR)


@pytest.fixture
def piece() -> Piece:
    return make_piece()


def sent(piece: Piece, code: str = "WA", side: str = "L", typed: str = "355", **more: object) -> TypedReading:
    """What a browser sends for a piece of size 24, whose half waist is 355 mm."""
    message = TypedReading(number=piece.number, code=code, side=side, typed=typed)
    return replace(message, **more)  # type: ignore[arg-type]  # each test names fields that exist


def take(message: TypedReading, by: User, at: dt.datetime = NOW) -> Recorded:
    return inspections.take_reading(message, by=by, at=at)


# --- opening ---------------------------------------------------------------------------------------------


def test_the_first_reading_opens_a_sitting_in_the_unit_of_the_spec(piece: Piece, inspector: User) -> None:
    recorded = take(sent(piece), inspector)
    sitting = recorded.reading.inspection
    assert (sitting.piece_id, sitting.unit, sitting.source) == (piece.pk, "mm", Source.BENCH)
    assert (sitting.opened_by, sitting.finished_at, sitting.blind) == (inspector, None, True)
    assert AuditRow.objects.filter(deed="open inspection", subject_id=sitting.pk).count() == 1


def test_the_first_reading_says_unit_tape_state_and_room(piece: Piece, inspector: User) -> None:
    tape = make_instrument()
    recorded = take(
        sent(
            piece,
            typed="35,5",
            unit=length.Unit.CM,
            instrument=tape.pk,
            piece_state=PieceState.PRESSED,
            room_humidity_percent=55,
        ),
        inspector,
    )
    sitting = recorded.reading.inspection
    assert (sitting.unit, sitting.instrument, sitting.room_humidity_percent) == ("cm", tape, 55)
    assert (recorded.reading.length_nm, recorded.reading.unit) == (355 * MM, "cm")
    assert (recorded.reading.instrument, recorded.reading.piece_state) == (tape, PieceState.PRESSED)


def test_two_people_on_one_piece_share_the_sitting_and_both_readings_are_kept(
    piece: Piece, inspector: User
) -> None:
    first = take(sent(piece), inspector)
    second = take(sent(piece, typed="356"), make_user())
    assert first.reading.inspection == second.reading.inspection
    assert [reading.repeat for reading in second.readings] == [1, 2]


def test_the_shop_may_measure_with_open_eyes(piece: Piece, inspector: User) -> None:
    Shop.objects.update(blind_entry=False)
    assert take(sent(piece), inspector).reading.inspection.blind is False


def test_a_viewer_records_nothing(piece: Piece) -> None:
    viewer = make_user(Role.VIEWER)
    with pytest.raises(NotAllowed):
        take(sent(piece), viewer)
    with pytest.raises(NotAllowed):
        inspections.open_inspection(piece=piece, by=viewer, at=NOW)
    assert not Inspection.objects.exists()


# --- one reading -----------------------------------------------------------------------------------------


def test_a_reading_is_kept_as_typed_and_as_exact_length(piece: Piece, inspector: User) -> None:
    reading = take(sent(piece, typed=' 13 31/32" '), inspector).reading
    reading.refresh_from_db()
    assert (reading.typed, reading.unit, reading.length_nm) == ('13 31/32"', "in", 354_806_250)
    assert (reading.taken_by, reading.recorded_at, reading.repeat) == (inspector, NOW, 1)
    row = AuditRow.objects.get(deed="record reading")
    assert (row.subject_id, row.detail, row.who) == (reading.pk, {"piece": piece.label}, inspector)


def test_a_text_that_is_no_length_is_refused_and_opens_no_sitting(piece: Piece, inspector: User) -> None:
    with pytest.raises(LengthNotUnderstood, match="Type"):
        take(sent(piece, typed="34 3"), inspector)
    assert not Inspection.objects.exists()
    assert not AuditRow.objects.exists()


def test_the_figure_means_the_unit_the_screen_showed_not_that_of_the_sitting(
    piece: Piece, inspector: User
) -> None:
    take(sent(piece, unit=length.Unit.MM), inspector)
    late = take(sent(piece, "UB", typed="40.5", unit=length.Unit.CM), inspector)
    assert late.reading.inspection.unit == "mm"
    assert (late.reading.unit, late.reading.length_nm) == ("cm", 405 * MM)


def test_a_reading_taken_offline_keeps_its_own_time_and_never_a_time_to_come(
    piece: Piece, inspector: User
) -> None:
    early = NOW - dt.timedelta(hours=2)
    assert take(sent(piece, taken_at=early), inspector).reading.taken_at == early
    ahead = take(sent(piece, "UB", typed="405", taken_at=NOW + dt.timedelta(days=1)), inspector)
    assert ahead.reading.taken_at == NOW


def test_a_piece_that_is_not_there_is_named(inspector: User) -> None:
    with pytest.raises(PieceNotFound, match="P000999"):
        take(TypedReading(number=999, code="WA", side="L", typed="355"), inspector)


def test_a_size_that_the_spec_does_not_have_is_named(inspector: User) -> None:
    odd = make_piece(size_label="99")
    with pytest.raises(SizeNotInSpec, match="'99'"):
        take(sent(odd), inspector)


@pytest.mark.parametrize(("code", "side"), [("ZZ", "L"), ("WA", "S"), ("WA", "x")])
def test_a_point_or_side_the_piece_does_not_have_is_refused(
    piece: Piece, inspector: User, code: str, side: str
) -> None:
    with pytest.raises(inspections.PointNotInWalk, match=code):
        take(sent(piece, code, side), inspector)
    assert not Reading.objects.exists()


def test_nobody_signs_for_another_person(piece: Piece, inspector: User) -> None:
    with pytest.raises(inspections.ReadByAnother, match="355"):
        take(sent(piece, signed_by=make_user().pk), inspector)
    assert take(sent(piece, signed_by=inspector.pk), inspector).created


def test_another_tape_in_the_middle_of_a_sitting_is_kept_with_the_reading(
    piece: Piece, inspector: User
) -> None:
    first, second = make_instrument(), make_instrument()
    take(sent(piece, instrument=first.pk), inspector)
    assert take(sent(piece, "UB", typed="405"), inspector).reading.instrument == first
    assert take(sent(piece, "CF", typed="305", instrument=second.pk), inspector).reading.instrument == second


# --- exactly once ----------------------------------------------------------------------------------------


def test_the_same_key_again_returns_what_was_stored_and_stores_nothing(piece: Piece, inspector: User) -> None:
    message = sent(piece, typed="660", client_key=uuid.uuid4())
    first, again = take(message, inspector), take(message, inspector, LATER)
    assert (first.created, again.created) == (True, False)
    assert again.reading.pk == first.reading.pk
    assert [question.pk for question in again.questions] == [question.pk for question in first.questions]
    assert Reading.objects.count() == 1
    assert AuditRow.objects.filter(deed="record reading").count() == 1


def test_the_same_key_for_another_reading_is_refused(piece: Piece, inspector: User) -> None:
    key = uuid.uuid4()
    take(sent(piece, client_key=key), inspector)
    for other in (sent(piece, typed="356"), sent(piece, side="R"), sent(piece, "UB", typed="355")):
        with pytest.raises(inspections.ClientKeyReused, match="355"):
            take(replace(other, client_key=key), inspector)
    with pytest.raises(inspections.ClientKeyReused):
        take(sent(make_piece(piece.batch), typed="1", client_key=key), inspector)
    assert Reading.objects.count() == 1
    assert Inspection.objects.count() == 1


def test_a_key_that_comes_again_after_the_sitting_was_finished_is_still_the_same_reading(
    piece: Piece, inspector: User
) -> None:
    message = sent(piece, client_key=uuid.uuid4())
    first = take(message, inspector)
    Inspection.objects.update(finished_at=NOW)
    assert not take(message, inspector, LATER).created
    assert not take(replace(message, sitting=first.reading.inspection_id), inspector, LATER).created
    assert (Reading.objects.count(), Inspection.objects.count()) == (1, 1)


def test_a_new_reading_for_a_finished_sitting_is_refused_with_its_figure_named(
    piece: Piece, inspector: User
) -> None:
    sitting = take(sent(piece), inspector).reading.inspection
    Inspection.objects.update(finished_at=NOW)
    with pytest.raises(inspections.SittingIsOver, match="'405'"):
        take(sent(piece, "UB", typed="405", sitting=sitting.pk), inspector)
    assert Reading.objects.count() == 1


def test_a_sitting_of_another_piece_is_not_taken(piece: Piece, inspector: User) -> None:
    other = make_inspection()
    with pytest.raises(inspections.SittingIsOver):
        take(sent(piece, sitting=other.pk), inspector)


def test_saving_one_more_reading_takes_seven_statements(
    piece: Piece, inspector: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    sitting = take(sent(piece), inspector).reading.inspection
    # savepoint (in production: begin), sitting with its piece, shop, readings, insert, audit, release
    with django_assert_num_queries(7):
        take(sent(piece, "UB", typed="405", sitting=sitting.pk, client_key=uuid.uuid4()), inspector)
    measure_all(sitting)
    with django_assert_num_queries(7):
        take(sent(piece, "CF", typed="305", sitting=sitting.pk, client_key=uuid.uuid4()), inspector)


# --- corrections -----------------------------------------------------------------------------------------


def test_a_correction_is_a_new_reading_with_a_reason_and_the_old_one_stays(
    piece: Piece, inspector: User
) -> None:
    old = take(sent(piece, typed="365"), inspector).reading
    recorded = take(sent(piece, typed="356", corrects=old.pk, reason="read at the wrong height"), inspector)
    new = recorded.reading
    assert (new.corrects_id, new.repeat, new.reason) == (old.pk, 1, "read at the wrong height")
    assert [reading.pk for reading in recorded.readings] == [new.pk]
    assert Reading.objects.count() == 2
    assert AuditRow.objects.filter(deed="correct reading").count() == 1


def test_a_correction_without_a_reason_is_refused(piece: Piece, inspector: User) -> None:
    old = take(sent(piece), inspector).reading
    with pytest.raises(inspections.CannotCorrect, match="reason") as refused:
        take(sent(piece, typed="356", corrects=old.pk, reason="  "), inspector)
    assert refused.value.field == "reason"
    assert Reading.objects.count() == 1


def test_a_reading_is_corrected_once_and_only_in_its_own_sitting(piece: Piece, inspector: User) -> None:
    old = take(sent(piece), inspector).reading
    take(sent(piece, typed="356", corrects=old.pk, reason="slip"), inspector)
    with pytest.raises(inspections.CannotCorrect, match="newest"):
        take(sent(piece, typed="357", corrects=old.pk, reason="slip"), inspector)
    elsewhere = take(sent(make_piece(piece.batch)), inspector).reading
    with pytest.raises(inspections.CannotCorrect):
        take(sent(piece, typed="357", corrects=elsewhere.pk, reason="slip"), inspector)


# --- the slip guard --------------------------------------------------------------------------------------


def test_a_full_girth_typed_for_the_half_is_stored_as_typed_and_asked_about(
    piece: Piece, inspector: User
) -> None:
    recorded = take(sent(piece, typed="710"), inspector)
    (question,) = recorded.questions
    assert recorded.reading.length_nm == 710 * MM
    assert (question.kind, question.suggestion_nm, question.answer) == ("full_for_half", 355 * MM, "")
    assert "710" in question.question


def test_a_plausible_reading_raises_no_question(piece: Piece, inspector: User) -> None:
    assert take(sent(piece), inspector).questions == ()


def test_a_question_is_answered_once_and_the_same_answer_again_is_no_fault(
    piece: Piece, inspector: User
) -> None:
    (question,) = take(sent(piece, typed="710"), inspector).questions
    for _ in range(2):
        inspections.answer_slip_question(question=question, answer="kept", by=inspector, at=LATER)
    question.refresh_from_db()
    assert (question.answer, question.answered_by, question.answered_at) == ("kept", inspector, LATER)
    assert AuditRow.objects.filter(deed="answer slip question").count() == 1
    with pytest.raises(inspections.NothingToAnswer, match="kept as read"):
        inspections.answer_slip_question(question=question, answer="read_again", by=inspector, at=LATER)


def test_reading_again_answers_the_question(piece: Piece, inspector: User) -> None:
    recorded = take(sent(piece, typed="710"), inspector)
    take(sent(piece, typed="355", corrects=recorded.reading.pk, reason="full girth typed"), inspector, LATER)
    question = SlipQuestion.objects.get()
    assert (question.answer, question.answered_by) == ("read_again", inspector)


def test_the_same_figure_read_again_is_not_asked_about_a_second_time(piece: Piece, inspector: User) -> None:
    recorded = take(sent(piece, typed="710"), inspector)
    again = take(sent(piece, typed="710", corrects=recorded.reading.pk, reason="read again"), inspector)
    assert again.questions == ()


def test_the_two_likeliest_slips_are_asked_about_and_one_answer_holds_for_both(
    piece: Piece, inspector: User
) -> None:
    """345 for 355: the tens misread, or for 354 with its digits swapped."""
    recorded = take(sent(piece, typed="345"), inspector)
    first, second = recorded.questions
    assert {first.kind, second.kind} == {"tens", "swapped_digits"}
    inspections.answer_slip_question(question=first, answer="kept", by=inspector, at=LATER)
    assert set(SlipQuestion.objects.values_list("answer", "answered_by")) == {("kept", inspector.pk)}
    assert AuditRow.objects.filter(deed="answer slip question").count() == 1


def test_a_correction_answers_both_guesses(piece: Piece, inspector: User) -> None:
    recorded = take(sent(piece, typed="345"), inspector)
    take(sent(piece, typed="355", corrects=recorded.reading.pk, reason="tens misread"), inspector, LATER)
    assert list(SlipQuestion.objects.values_list("answer", flat=True)) == ["read_again", "read_again"]


@pytest.mark.parametrize("typed", ["710", "345", "35.5", "455", "380.4", "0", "14"])
def test_while_people_measure_blind_a_question_tells_no_figure_but_the_typed_one(
    piece: Piece, inspector: User, typed: str
) -> None:
    recorded = take(sent(piece, typed=typed), inspector)
    assert recorded.questions
    for question in recorded.questions:
        assert question.question.startswith(f"Typed {typed} mm. ")
        assert "355" not in question.question
        assert "expected" not in question.question


def test_a_shop_that_shows_the_nominal_asks_with_it(piece: Piece, inspector: User) -> None:
    Shop.objects.update(blind_entry=False)
    (question,) = take(sent(piece, typed="710"), inspector).questions
    assert question.question.startswith("Typed 710 mm, but the half is specified at 355 mm.")


def test_a_repeat_that_contradicts_the_first_is_asked_about_and_kept_or_read_again(
    piece: Piece, inspector: User
) -> None:
    """Both are within the limits; nothing but the other reading speaks against either."""
    assert take(sent(piece, typed="351"), inspector).questions == ()
    second = take(sent(piece, typed="359"), inspector)
    (question,) = second.questions
    assert question.kind == "repeats_disagree"
    assert "351" not in question.question, "asked blind"
    again = take(sent(piece, typed="352", corrects=second.reading.pk, reason="read again"), inspector, LATER)
    assert again.questions == ()
    question.refresh_from_db()
    assert question.answer == "read_again"


def test_somebody_elses_repeat_may_lie_further_off_than_ones_own(piece: Piece, inspector: User) -> None:
    take(sent(piece, typed="352"), inspector)
    assert take(sent(piece, typed="357"), make_user()).questions == ()
    other = make_piece(piece.batch)
    take(sent(other, typed="352"), inspector)
    assert take(sent(other, typed="357"), inspector).questions[0].kind == "repeats_disagree"


def test_a_doubt_about_the_size_that_was_kept_is_not_raised_again_in_the_sitting(inspector: User) -> None:
    """A piece of size 26 under the label 24, its girths 18 mm wider."""
    girths = [PointRecipe(code, code, step_mm=18) for code in ("UB", "WA", "HH", "LE")]
    piece = make_piece(make_batch(make_spec(points=girths)))
    _, second, third, fourth = (
        take(sent(piece, girth.code, typed="366"), inspector, LATER).questions for girth in girths
    )
    assert second[0].kind == third[0].kind == fourth[0].kind == "neighbour_size", "asked until it is answered"
    inspections.answer_slip_question(question=fourth[0], answer="kept", by=inspector, at=LATER)
    left = [take(sent(piece, girth.code, "R", typed="366"), inspector, LATER).questions for girth in girths]
    assert left == [(), (), (), ()]
    assert take(sent(piece, "UB", typed="34.8"), inspector, LATER).questions, "another slip is asked about"
    elsewhere = make_piece(piece.batch)
    asked = [take(sent(elsewhere, girth.code, typed="366"), inspector, LATER).questions for girth in girths]
    assert asked[3][0].kind == "neighbour_size"


def _others_read(piece: Piece, mm: float, *, pieces: int) -> None:
    for _ in range(pieces):
        sitting = make_inspection(make_piece(piece.batch))
        for side in ("L", "R"):
            make_reading(sitting, "WA", side, mm=mm)


def test_a_batch_that_is_small_all_over_is_not_asked_about_once_five_pieces_say_so(
    piece: Piece, inspector: User
) -> None:
    _others_read(piece, 346, pieces=4)
    assert take(sent(piece, typed="346"), inspector).questions
    _others_read(piece, 346, pieces=1)
    assert take(sent(make_piece(piece.batch), typed="346"), inspector).questions == ()
    assert take(sent(make_piece(piece.batch), typed="692"), inspector).questions[0].kind == "full_for_half"


def test_a_slip_that_was_kept_makes_no_habit_of_the_batch(piece: Piece, inspector: User) -> None:
    _others_read(piece, 355, pieces=4)
    _others_read(piece, 405, pieces=1)
    assert take(sent(piece, typed="345"), inspector).questions


def test_what_is_usual_for_the_batch_is_looked_up_only_for_a_reading_in_doubt(
    piece: Piece, inspector: User
) -> None:
    sitting = make_inspection(piece)
    point = piece.batch.style.points.get(code="WA")

    def statements(side: str, typed: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            inspections.record_reading(
                inspection=sitting, point=point, side=side, typed=typed, by=inspector, at=NOW
            )
        return len(seen)

    statements("L", "355")  # the plans are read once and kept
    plain = statements("L", "356")
    assert statements("R", "345") == plain + 2  # the habit of the batch; both questions in one


def test_a_sitting_with_an_open_question_cannot_be_finished(piece: Piece, inspector: User) -> None:
    sitting = make_inspection(piece)
    measure_all(sitting)
    (question,) = take(sent(piece, typed="710"), inspector).questions
    with pytest.raises(NotYetMeasured, match="looks like a slip"):
        inspections.finish_inspection(inspection=sitting, by=inspector, at=LATER)
    inspections.answer_slip_question(question=question, answer="kept", by=inspector, at=LATER)
    assert inspections.finish_inspection(inspection=sitting, by=inspector, at=LATER).shelf == "out"


# --- finishing -------------------------------------------------------------------------------------------


def test_finishing_judges_the_piece_and_closes_the_sitting(piece: Piece, inspector: User) -> None:
    sitting = make_inspection(piece)
    measure_all(sitting)
    verdict = inspections.finish_inspection(inspection=sitting, by=inspector, at=LATER)
    sitting.refresh_from_db()
    assert (verdict.shelf, verdict.claim, sitting.finished_at) == ("in", "in", LATER)
    assert PieceVerdict.objects.get(piece=piece, is_current=True) == verdict


def test_a_sitting_finished_by_two_at_once_is_judged_once(piece: Piece, inspector: User) -> None:
    sitting = make_inspection(piece)
    measure_all(sitting)
    also_open = Inspection.objects.select_related("piece__batch__style").get(pk=sitting.pk)
    first = inspections.finish_inspection(inspection=sitting, by=inspector, at=NOW)
    second = inspections.finish_inspection(inspection=also_open, by=inspector, at=LATER)
    assert second == first == PieceVerdict.objects.get()
    assert Inspection.objects.get().finished_at == NOW
    assert AuditRow.objects.filter(deed="finish inspection").count() == 1


def test_an_incomplete_sitting_names_what_is_still_to_read(piece: Piece, inspector: User) -> None:
    sitting = take(sent(piece), inspector).reading.inspection
    with pytest.raises(NotYetMeasured, match="UB L, UB R, WA R, CF L, CF R"):
        inspections.finish_inspection(inspection=sitting, by=inspector, at=LATER)
    assert not PieceVerdict.objects.exists()


# --- one half that cannot be read ------------------------------------------------------------------------


def _all_but_the_right_waist(piece: Piece) -> Inspection:
    sitting = make_inspection(piece)
    measure_all(sitting)
    waist = sitting.readings.filter(point__code="WA", side="R")
    Reading.objects.filter(pk__in=waist.values("pk")).delete()
    return sitting


def test_one_half_that_cannot_be_read_is_noted_with_its_reason(piece: Piece, inspector: User) -> None:
    _all_but_the_right_waist(piece)
    point = plans_of(piece.batch).points["WA"]
    for _ in range(2):
        inspections.note_unread_side(
            piece=piece, point=point, side="R", reason=" edge torn ", by=inspector, at=NOW
        )
    noted = UnreadSide.objects.get()
    assert (noted.reason, noted.noted_by) == ("edge torn", inspector)
    assert AuditRow.objects.get(deed="note unread side").detail == {"reason": "edge torn"}


def test_only_the_owner_lets_twice_one_half_decide(piece: Piece, inspector: User) -> None:
    sitting = _all_but_the_right_waist(piece)
    point = plans_of(piece.batch).points["WA"]
    inspections.note_unread_side(piece=piece, point=point, side="R", reason="edge torn", by=inspector, at=NOW)
    with pytest.raises(inspections.OwnerMustAllow, match="WA R"):
        inspections.finish_inspection(inspection=sitting, by=inspector, at=LATER)
    verdict = inspections.finish_inspection(inspection=sitting, by=make_user(Role.OWNER), at=LATER)
    full = next(found for found in verdict.as_findings()["WA"] if found.aspect == "F")
    assert (full.from_one_half, full.deciding, full.value_nm) == (True, True, 710 * MM)


def test_a_reading_of_the_side_after_all_makes_the_note_void(piece: Piece, inspector: User) -> None:
    sitting = _all_but_the_right_waist(piece)
    point = plans_of(piece.batch).points["WA"]
    inspections.note_unread_side(piece=piece, point=point, side="R", reason="edge torn", by=inspector, at=NOW)
    take(sent(piece, "WA", "R"), inspector)
    verdict = inspections.finish_inspection(inspection=sitting, by=inspector, at=LATER)
    assert not any(found.from_one_half for found in verdict.as_findings()["WA"])


def test_a_side_is_left_unread_only_where_the_other_half_can_stand_in(inspector: User) -> None:
    single = PointRecipe("HC", "half chest", sides="single", asymmetry_mm=None)
    waist = PointRecipe("WA", "half waist")
    front = PointRecipe("CF", "centre front length", kind="length")
    piece = make_piece(make_batch(make_spec(points=(single, waist, front))))
    points = plans_of(piece.batch).points

    def note(code: str, side: str, reason: str = "torn") -> None:
        inspections.note_unread_side(
            piece=piece, point=points[code], side=side, reason=reason, by=inspector, at=NOW
        )

    for code, side in (("CF", "L"), ("HC", "S"), ("WA", "S")):
        with pytest.raises(inspections.CannotSkip, match="no other half"):
            note(code, side)
    with pytest.raises(inspections.CannotSkip, match="Say why"):
        note("WA", "L", reason=" ")
    note("WA", "L")
    with pytest.raises(inspections.CannotSkip, match="other half"):
        note("WA", "R")
    assert Inspection.objects.get().piece == piece


# --- a worksheet from paper ------------------------------------------------------------------------------

FILLED = {
    ("UB", "L"): "405",
    ("UB", "R"): "40.6 cm",
    ("WA", "L"): "355",
    ("WA", "R"): " ",
    ("CF", "L"): "305",
}


def test_a_worksheet_is_stored_as_a_sitting_with_the_time_on_the_paper(piece: Piece, inspector: User) -> None:
    yesterday = NOW - dt.timedelta(days=1)
    sitting = inspections.record_worksheet(
        piece=piece, boxes=FILLED, unit=length.Unit.MM, by=inspector, at=NOW, measured_at=yesterday
    )
    assert (sitting.source, sitting.finished_at) == (Source.PAPER, None)
    kept = [
        (r.point.code, r.side, r.typed, r.length_nm // MM) for r in sitting.readings.select_related("point")
    ]
    assert kept == [
        ("UB", "L", "405", 405),
        ("UB", "R", "40.6 cm", 406),
        ("WA", "L", "355", 355),
        ("CF", "L", "305", 305),
    ]
    assert {reading.taken_at for reading in sitting.readings.all()} == {yesterday}


def test_one_box_that_cannot_be_read_stores_nothing_and_each_is_named(piece: Piece, inspector: User) -> None:
    boxes = FILLED | {("WA", "R"): "3 5", ("CF", "R"): "x"}
    with pytest.raises(inspections.WorksheetRefused) as refused:
        inspections.record_worksheet(
            piece=piece, boxes=boxes, unit=length.Unit.MM, by=inspector, at=NOW, measured_at=NOW
        )
    assert set(refused.value.boxes) == {("WA", "R"), ("CF", "R")}
    assert all("Type" in sentence for sentence in refused.value.boxes.values())
    assert not Inspection.objects.exists()


def test_an_empty_worksheet_says_so(piece: Piece, inspector: User) -> None:
    with pytest.raises(inspections.WorksheetRefused, match="Every box is empty"):
        inspections.record_worksheet(
            piece=piece, boxes={("WA", "L"): " "}, unit=length.Unit.MM, by=inspector, at=NOW, measured_at=NOW
        )


def test_a_worksheet_does_not_run_into_a_sitting_at_the_bench(piece: Piece, inspector: User) -> None:
    take(sent(piece), inspector)
    with pytest.raises(inspections.AlreadyAtTheBench, match=piece.label):
        inspections.record_worksheet(
            piece=piece, boxes=FILLED, unit=length.Unit.MM, by=inspector, at=NOW, measured_at=NOW
        )
    assert Reading.objects.count() == 1
