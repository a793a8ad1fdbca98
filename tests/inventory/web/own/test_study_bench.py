"""A study at the bench: each person's own turns, one after another, without any figure of before."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Study, StudyReading, StudyTurn, User
from inventory.models.people import Role
from tests.factories import make_study, make_user
from tests.inventory.web.setup.cast import client_of, said
from tests.study_readings import read_study

pytestmark = pytest.mark.django_db
STEPS = ("WA-L", "CF-L", "WA-R", "CF-R")


def a_study() -> tuple[Study, User, Client]:
    person = make_user()
    return make_study(pieces=5, people=(person, make_user())), person, client_of(user=person)


def turn_of(study: Study, person: User, order: int = 1) -> StudyTurn:
    return StudyTurn.objects.get(study=study, study_person__person=person, order=order)


def readings_of(study: Study, turn: StudyTurn) -> str:
    return reverse("study-readings", args=[study.number, turn.pk])


def page_of(study: Study, turn: StudyTurn) -> str:
    return reverse("study-turn", args=[study.number, turn.pk])


def test_the_bench_goes_from_turn_to_turn_until_all_are_read() -> None:
    study, person, client = a_study()
    bench = reverse("study-bench", args=[study.number])
    first = turn_of(study, person)
    assert client.get(bench).headers["Location"] == page_of(study, first)
    for step in STEPS:
        answer = client.post(readings_of(study, first), {"step": step, "typed": "330", "unit": "mm"})
        assert answer.headers["Location"] == f"{page_of(study, first)}?after={step}"
    assert client.get(bench).headers["Location"] == page_of(study, turn_of(study, person, 2))
    assert StudyReading.objects.filter(turn=first).count() == 4
    read_rest(study, first)
    page = said(client.get(bench, follow=True))
    assert "You have read all your turns" in page


def read_rest(study: Study, but: StudyTurn) -> None:
    StudyTurn.objects.filter(pk=but.pk).update(study=make_study(pieces=5))
    read_study(study)
    StudyTurn.objects.filter(pk=but.pk).update(study=study)


def test_the_page_asks_for_one_point_and_shows_no_figure_of_before() -> None:
    study, person, client = a_study()
    turn = turn_of(study, person)
    client.post(readings_of(study, turn), {"step": "WA-L", "typed": "331.5", "unit": "mm"})
    page = said(client.get(page_of(study, turn)))
    assert 'data-step="CF-L"' in page
    assert "331.5" not in page


def test_a_figure_that_cannot_be_read_is_said_and_kept() -> None:
    study, person, client = a_study()
    turn = turn_of(study, person)
    answer = client.post(readings_of(study, turn), {"step": "WA-L", "typed": "33o", "unit": "mm"})
    assert answer.status_code == 422
    assert "33o" in said(answer)
    assert not StudyReading.objects.exists()


def test_another_persons_turn_is_not_read_not_even_by_the_owner() -> None:
    study, person, _ = a_study()
    turn = turn_of(study, person)
    owner = client_of()
    assert owner.get(page_of(study, turn)).headers["Location"] == reverse("study", args=[study.number])
    assert "Whose hands read it counts" in said(owner.get(page_of(study, turn), follow=True))
    assert owner.get(readings_of(study, turn)).status_code == 302
    answer = owner.post(readings_of(study, turn), {"step": "WA-L", "typed": "330", "unit": "mm"})
    assert answer.status_code == 409
    assert not StudyReading.objects.exists()


def test_who_takes_no_part_is_told_so() -> None:
    study, _, _ = a_study()
    page = said(client_of(Role.INSPECTOR).get(reverse("study-bench", args=[study.number]), follow=True))
    assert f"You take no part in {study.label}" in page


def test_only_the_newest_turn_is_looked_back_at() -> None:
    study, person, client = a_study()
    first, second = turn_of(study, person), turn_of(study, person, 2)
    client.post(readings_of(study, first), {"step": "WA-L", "typed": "331.5", "unit": "mm"})
    reading = StudyReading.objects.get()
    correct = f"{page_of(study, first)}?correct={reading.pk}"
    assert "331.5" in said(client.get(readings_of(study, first)))
    assert client.get(correct).status_code == 200
    client.post(readings_of(study, second), {"step": "WA-L", "typed": "340", "unit": "mm"})
    assert "331.5" not in said(client.get(readings_of(study, first), follow=True))
    assert client.get(correct).status_code == 404


def test_a_correction_takes_a_reason() -> None:
    study, person, client = a_study()
    turn = turn_of(study, person)
    client.post(readings_of(study, turn), {"step": "WA-L", "typed": "313", "unit": "mm"})
    wrong = StudyReading.objects.get()
    boxes = {"step": "WA-L", "typed": "331", "unit": "mm", "corrects": str(wrong.pk)}
    assert client.post(readings_of(study, turn), boxes).status_code == 422
    client.post(readings_of(study, turn), boxes | {"reason": "swapped digits"})
    assert StudyReading.objects.get(corrects=wrong).length_nm == 331_000_000


def test_a_study_that_is_over_takes_no_reading() -> None:
    study, person, client = a_study()
    turn = turn_of(study, person)
    Study.objects.filter(pk=study.pk).update(state=Study.State.ABANDONED)
    answer = client.post(readings_of(study, turn), {"step": "WA-L", "typed": "330", "unit": "mm"})
    assert answer.status_code == 409
    assert "is over" in said(client.get(page_of(study, turn)))
    assert client.get(reverse("study-bench", args=[study.number])).status_code == 302
