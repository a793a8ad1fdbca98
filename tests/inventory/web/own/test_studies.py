"""The screens of a study: planned, read blind, finished, shown, used."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import AuditRow, Batch, MeasurePoint, Study, StudyReading, StudyTurn, User
from inventory.models.people import Role
from inventory.services.studies import finish_study
from tests.factories import NOW, make_batch, make_piece, make_study, make_user
from tests.inventory.queries.own.test_study_results import read_wrongly
from tests.inventory.web.setup.cast import client_of, said
from tests.study_readings import read_study, steady

pytestmark = pytest.mark.django_db


def asked_for(batch: Batch, people: list[User], **other: object) -> dict[str, object]:
    points = batch.style.points.filter(code__in=("WA", "CF"))
    return {
        "pieces": [str(make_piece(batch).pk) for _ in range(5)],
        "people": [str(person.pk) for person in people],
        "points": [str(point.pk) for point in points],
        "rounds": "2",
        "seed": "11",
        "labels": "",
        "note": "",
    } | other


def new_of(batch: Batch) -> str:
    return f"{reverse('study-new')}?style={batch.style.code}"


def finished(**fields: object) -> Study:
    study = read_study(make_study(pieces=6, **fields))  # type: ignore[arg-type]  # a test's own fields
    return finish_study(study=study, by=make_user(Role.OWNER), at=NOW)


def test_a_study_begins_with_its_style() -> None:
    batch = make_batch()
    make_piece(batch)
    page = said(client_of().get(reverse("study-new")))
    assert f"?style={batch.style.code}" in page
    assert "1 piece at hand" in page


def test_working_it_out_says_what_it_takes_and_stores_nothing() -> None:
    batch = make_batch()
    boxes = asked_for(batch, [make_user(), make_user()], deed="work-out")
    page = said(client_of().post(new_of(batch), boxes))
    # 5 pieces x 2 people x 2 rounds laid for 40 s, four sides read for 20 s each
    assert "80 readings, about 40 minutes" in page
    assert "A person more" in page
    assert 'value="11"' in page
    assert not Study.objects.exists()


def test_what_was_worked_out_can_be_begun() -> None:
    batch, people = make_batch(), [make_user(), make_user()]
    answer = client_of().post(new_of(batch), asked_for(batch, people, deed="plan"))
    study = Study.objects.get()
    assert answer.headers["Location"] == reverse("study", args=[study.number])
    assert (study.seed, study.rounds, study.turns.count()) == (11, 2, 20)


def test_pieces_named_by_label_join_the_ticked_ones() -> None:
    batch, people = make_batch(), [make_user(), make_user()]
    extra = make_piece(batch)
    boxes = asked_for(batch, people, labels=f"{extra.label.lower()}; {extra.number}", deed="plan")
    client_of().post(new_of(batch), boxes)
    assert Study.objects.get().study_pieces.filter(piece=extra).count() == 1
    assert Study.objects.get().study_pieces.count() == 6


@pytest.mark.parametrize(
    ("other", "sentence"),
    [
        ({"rounds": "1"}, "nobody&#x27;s own spread is seen"),
        ({"people": []}, "one person cannot show how far people differ"),
        ({"pieces": []}, "Take at least 5"),
        ({"points": []}, "No point is picked"),
        ({"labels": "hello"}, "is no label of a piece"),
        ({"labels": "P999999"}, "There is no piece P999999"),
        ({"labels": "P9999999999999999999"}, "is no label of a piece"),
        ({"pieces": ["999999"]}, "Select a valid choice"),
    ],
)
@pytest.mark.parametrize("deed", ["work-out", "plan"])
def test_what_cannot_be_a_study_is_said_and_nothing_is_stored(
    other: dict[str, object], sentence: str, deed: str
) -> None:
    batch = make_batch()
    boxes = asked_for(batch, [make_user(), make_user()], deed=deed) | other
    page = said(client_of().post(new_of(batch), boxes))
    assert sentence in page
    assert 'value="11"' in page
    assert not Study.objects.exists()


def test_a_piece_of_another_style_is_named_at_its_box() -> None:
    batch, stranger = make_batch(), make_piece(make_batch())
    boxes = asked_for(batch, [make_user(), make_user()], labels=stranger.label, deed="plan")
    page = said(client_of().post(new_of(batch), boxes))
    assert f"{stranger.label} is of another style than {batch.style.code}" in page
    assert not Study.objects.exists()


@pytest.mark.parametrize("role", Role.values)
def test_nobody_sees_a_figure_before_the_study_is_finished(role: str) -> None:
    study = read_study(make_study(pieces=5), _no_label, but=1)
    figures = {reading.typed for reading in StudyReading.objects.all()}
    assert all(figure.endswith("25") for figure in figures)
    client = client_of(role)
    for name in ("study", "study-effect", "study-finish", "study-readings"):
        turn = (study.turns.first(),) if name == "study-readings" else ()
        answer = client.get(reverse(name, args=[study.number, *(one.pk for one in turn if one)]), follow=True)
        assert not {figure for figure in figures if figure in said(answer)}, name
    labels = " ".join(AuditRow.objects.values_list("subject_label", flat=True))
    assert not {figure for figure in figures if figure in labels}


def _no_label(turn: StudyTurn, code: str, side: str) -> float:
    """Figures that no number of a piece or a study can be taken for."""
    return steady(turn, code, side) + 0.125


def test_a_running_study_says_who_has_how_many_turns_left() -> None:
    study = read_study(make_study(pieces=5), but=3)
    page = re.sub(
        r"\s+", " ", re.sub(r"<[^>]*>", " ", said(client_of().get(reverse("study", args=[study.number]))))
    )
    assert "17 of 20 turns read" in page
    assert "10 of 10 0" in page
    assert "7 of 10 3" in page
    assert "1 of 2" in page


def test_a_reading_too_far_out_is_named_without_its_figure_and_its_reader_is_led_to_it() -> None:
    people = (make_user(), make_user())
    study = read_study(make_study(pieces=6, people=people), read_wrongly)
    reading = StudyReading.objects.get(
        point__code="WA", side="L", turn__round=2, turn__study_piece__position=3, taken_by=people[0]
    )
    address = reverse("study", args=[study.number])
    link = f"{reverse('study-turn', args=[study.number, reading.turn_id])}?correct={reading.pk}"
    of_reader, of_other = (said(client_of(user=person).get(address)) for person in people)
    assert "Look at these again" in of_reader
    assert link in of_reader
    assert link not in of_other
    assert reading.typed not in of_other
    assert client_of(user=people[0]).get(link).status_code == 200


def test_a_finished_study_says_it_in_words_pictures_and_tables() -> None:
    study = finished()
    page = said(client_of(Role.VIEWER).get(reverse("study", args=[study.number])))
    assert "longer than" in page
    assert "A repeat by the same person scatters by" in page
    assert page.count('class="strip"') == 12 + 2 + 2
    assert "Analysis of variance" in page
    assert "Piece × person pooled" in page
    assert "Piece × person kept apart" in page
    assert "Technical error of measurement" in page


def test_each_point_has_its_own_page_and_an_unknown_one_is_the_first() -> None:
    study = finished()
    client, address = client_of(Role.VIEWER), reverse("study", args=[study.number])
    assert "<h2>CF " in said(client.get(f"{address}?point=CF"))
    assert "<h2>WA " in said(client.get(f"{address}?point=nothing"))


def test_a_part_below_zero_is_shown_as_it_came_out() -> None:
    study = read_study(make_study(pieces=6), _below_zero)
    finish_study(study=study, by=make_user(Role.OWNER), at=NOW)
    page = said(client_of(Role.VIEWER).get(reverse("study", args=[study.number])))
    assert "below zero, taken as none" in page
    assert "−0." in page


def _below_zero(turn: StudyTurn, _code: str, _side: str) -> float:
    """Both people have the same mean, and disagree with themselves."""
    piece, round_ = turn.study_piece.position, turn.round
    return 330 + 5 * piece + (1 if (piece + round_) % 2 else -1)


def test_the_number_of_statements_of_a_result_does_not_grow_with_it() -> None:
    client, counts = client_of(Role.VIEWER), []
    for pieces in (5, 9):
        study = read_study(make_study(pieces=pieces))
        finish_study(study=study, by=make_user(Role.OWNER), at=NOW)
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse("study", args=[study.number]))
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_finishing_is_asked_first_and_refused_in_words() -> None:
    owner, study = client_of(), make_study(pieces=5)
    address = reverse("study-finish", args=[study.number])
    assert "although turns are missing" in said(owner.get(address))
    page = said(owner.post(address, follow=True))
    assert "cannot be finished yet" in page
    read_study(study)
    assert "Every turn is read" in said(owner.get(address))
    assert "What study" in said(owner.post(address, follow=True))


def test_giving_up_needs_a_reason() -> None:
    owner, study = client_of(), read_study(make_study(pieces=5))
    address = reverse("study-give-up", args=[study.number])
    assert "This field is required" in said(owner.post(address, {"reason": ""}))
    page = said(owner.post(address, {"reason": "tape changed"}, follow=True))
    assert "Given up: tape changed" in page
    assert "is not analysed" in page


def test_old_values_stand_against_new_and_the_ticked_ones_hold_from_now_on() -> None:
    study, owner = finished(), client_of()
    address = reverse("study-effect", args=[study.number])
    assert "planning value" in said(owner.get(address))
    assert "No point is chosen" in said(owner.post(address, {}))
    page = said(owner.post(address, {"points": ["WA"]}, follow=True))
    assert "judged by" in page
    assert "in use" in page
    point = MeasurePoint.objects.get(style=study.style, code="WA")
    assert point.known_error is not None
    assert point.known_error.study == study
    assert MeasurePoint.objects.get(style=study.style, code="CF").known_error is None


def test_a_running_study_has_nothing_to_use() -> None:
    study = read_study(make_study(pieces=5))
    page = said(client_of().get(reverse("study-effect", args=[study.number])))
    assert "Not finished" in page


def test_the_list_and_the_hub_say_what_to_do_when_there_is_none() -> None:
    assert "The owner plans one" in said(client_of(Role.VIEWER).get(reverse("studies")))
    assert "Plan a study" in said(client_of().get(reverse("studies")))
    assert "None yet" in said(client_of(Role.VIEWER).get(reverse("our-measuring")))


def test_the_hub_leads_people_to_their_turns() -> None:
    people = (make_user(), make_user())
    study = make_study(pieces=5, people=people)
    hub = reverse("our-measuring")
    assert f"Study {study.label} waits for you" in said(client_of(user=people[0]).get(hub))
    assert "waits for you" not in said(client_of().get(hub))


def test_the_list_takes_a_constant_number_of_statements() -> None:
    client, counts = client_of(Role.VIEWER), []
    for _ in range(2):
        make_study(pieces=5)
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse("studies"))
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_study_that_is_not_there_is_said() -> None:
    assert Client().get("/studies/S999/").status_code == 302
    assert client_of().get("/studies/S999/").status_code == 404
