"""A reading of our own measuring is stored once, by the person whose turn it is, and never changed."""

from __future__ import annotations

import uuid
from dataclasses import replace

import pytest

from inventory.access import NotAllowed
from inventory.calc.errors import LengthNotUnderstood
from inventory.models import AuditRow, CheckReading, StudyReading, StudyTurn, User
from inventory.models.people import Role
from inventory.queries.own import places
from inventory.queries.own.places import OwnPlace
from inventory.services.inspections import TypedReading
from inventory.services.inspections.refusals import (
    CannotCorrect,
    ClientKeyReused,
    PointNotInWalk,
    ReadAlready,
    ReadByAnother,
    SittingIsOver,
)
from inventory.services.own_readings import take_own_reading
from tests.factories import NOW, make_check_sitting, make_study, make_user

pytestmark = pytest.mark.django_db


def typed(figure: str, step: str = "WA-L", **fields: object) -> TypedReading:
    code, _, side = step.partition("-")
    message = TypedReading(number=0, code=code, side=side, typed=figure, client_key=uuid.uuid4())
    return replace(message, **fields)  # type: ignore[arg-type]  # a test's own fields


def a_turn() -> tuple[OwnPlace, User]:
    person = make_user()
    make_study(people=(person, make_user()))
    return again(StudyTurn.objects.filter(study_person__person=person).first()), person


def again(turn: StudyTurn | None) -> OwnPlace:
    assert turn is not None
    wanted = StudyTurn.objects.select_related(
        "study__style", "study_person__person", "study_piece__piece__batch__style"
    )
    return places.place_of_turn(wanted.get(pk=turn.pk))


def looked_at_again(place: OwnPlace) -> OwnPlace:
    assert isinstance(place.record, StudyTurn)
    return again(place.record)


def test_the_walk_is_all_left_sides_then_all_right_ones() -> None:
    place, _ = a_turn()
    assert [step.key for step in place.steps] == ["WA-L", "CF-L", "WA-R", "CF-R"]


def test_a_reading_is_kept_as_typed_and_as_exact_length() -> None:
    place, person = a_turn()
    recorded = take_own_reading(place, typed("13 1/2 in"), by=person, at=NOW)
    assert recorded.created
    assert (recorded.reading.typed, recorded.reading.length_nm) == ("13 1/2 in", 342_900_000)
    assert [step.key for step in looked_at_again(place).left] == ["CF-L", "WA-R", "CF-R"]
    assert AuditRow.objects.filter(deed="record own reading").count() == 1


def test_the_same_key_again_stores_nothing_and_gives_the_same() -> None:
    place, person = a_turn()
    message = typed("355")
    first = take_own_reading(place, message, by=person, at=NOW)
    second = take_own_reading(looked_at_again(place), message, by=person, at=NOW)
    assert (second.created, second.reading.pk) == (False, first.reading.pk)
    assert StudyReading.objects.count() == 1


def test_the_same_key_with_another_figure_is_refused() -> None:
    place, person = a_turn()
    message = typed("355")
    take_own_reading(place, message, by=person, at=NOW)
    with pytest.raises(ClientKeyReused, match="already stands for the reading '355' of WA L"):
        take_own_reading(looked_at_again(place), replace(message, typed="356"), by=person, at=NOW)


def test_a_side_is_read_once_a_turn_whichever_page_sends_it() -> None:
    place, person = a_turn()
    take_own_reading(place, typed("355"), by=person, at=NOW)
    for page in (place, looked_at_again(place)):  # one that does not know, one that does
        with pytest.raises(ReadAlready, match="is read already"):
            take_own_reading(page, typed("356"), by=person, at=NOW)
    assert StudyReading.objects.count() == 1


def test_a_correction_is_a_new_row_with_a_reason() -> None:
    place, person = a_turn()
    first = take_own_reading(place, typed("535"), by=person, at=NOW).reading
    place = looked_at_again(place)
    with pytest.raises(CannotCorrect, match="needs a reason"):
        take_own_reading(place, typed("355", corrects=first.pk), by=person, at=NOW)
    take_own_reading(place, typed("355", corrects=first.pk, reason="typed wrong"), by=person, at=NOW)
    assert looked_at_again(place).taken["WA-L"].length_nm == 355_000_000
    assert StudyReading.objects.count() == 2
    with pytest.raises(CannotCorrect, match="corrected already"):
        take_own_reading(
            looked_at_again(place), typed("356", corrects=first.pk, reason="again"), by=person, at=NOW
        )


def test_nobody_reads_for_another_person() -> None:
    place, person = a_turn()
    with pytest.raises(ReadByAnother, match="another person's"):
        take_own_reading(place, typed("355"), by=make_user(), at=NOW)
    with pytest.raises(ReadByAnother, match="somebody else was signed in"):
        take_own_reading(place, typed("355", signed_by=person.pk + 1), by=person, at=NOW)


def test_a_viewer_reads_nothing() -> None:
    place, _ = a_turn()
    with pytest.raises(NotAllowed):
        take_own_reading(place, typed("355"), by=make_user(Role.VIEWER), at=NOW)


def test_a_point_of_no_study_and_a_finished_one_are_refused() -> None:
    place, person = a_turn()
    with pytest.raises(PointNotInWalk, match="UB L is not read here"):
        take_own_reading(place, typed("355", "UB-L"), by=person, at=NOW)
    with pytest.raises(SittingIsOver, match="is over"):
        take_own_reading(replace(place, over="S001 is over."), typed("355"), by=person, at=NOW)
    assert not StudyReading.objects.exists()


def test_a_figure_that_cannot_be_read_stores_nothing() -> None:
    place, person = a_turn()
    with pytest.raises(LengthNotUnderstood):
        take_own_reading(place, typed("13,5 1/2"), by=person, at=NOW)
    assert not StudyReading.objects.exists()


def test_a_doubt_names_the_slip_and_no_figure_read_before() -> None:
    place, person = a_turn()
    taken = take_own_reading(place, typed("710"), by=person, at=NOW).reading
    doubt = places.doubt_about(place, taken)
    assert "full" in doubt.lower()
    assert "355" not in doubt
    plain = take_own_reading(place, typed("356", "WA-R"), by=person, at=NOW).reading
    assert places.doubt_about(place, plain) == ""


def test_the_check_garment_is_read_the_same_way() -> None:
    sitting = make_check_sitting()
    place = places.place_of_sitting(sitting)
    take_own_reading(place, typed("355"), by=sitting.opened_by, at=NOW)
    assert CheckReading.objects.get().sitting == sitting
    assert places.place_of_sitting(sitting).taken.keys() == {"WA-L"}


def test_the_next_turn_is_the_first_that_is_not_read_in_full() -> None:
    place, person = a_turn()
    assert isinstance(place.record, StudyTurn)
    study = place.record.study_id
    for step in ("WA-L", "CF-L", "WA-R", "CF-R"):
        assert places.next_turn(study, person.pk) == place.record
        take_own_reading(looked_at_again(place), typed("330", step), by=person, at=NOW)
    following = places.next_turn(study, person.pk)
    assert following is not None
    assert following.order == 2
