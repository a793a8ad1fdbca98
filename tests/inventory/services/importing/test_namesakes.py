"""Names in a file are taken for people here only where that is sure; otherwise somebody says who it is."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import ImportRun, Inspection, Reading, User
from inventory.models.people import Role
from inventory.services.importing import runs
from inventory.services.importing.namesakes import Named, People, check_answers
from inventory.services.importing.refusals import PeopleOpen
from tests.factories import NOW, make_user
from tests.inventory.services.importing.files_of_pieces import (
    HEADER,
    World,
    check,
    csv_of,
    make_world,
    row,
    upload,
)
from tests.inventory.services.importing.files_of_pieces import _work as work_off

pytestmark = pytest.mark.django_db


def called(username: str, first_name: str, last_name: str = "") -> User:
    person = make_user(Role.INSPECTOR, username=username)
    person.first_name, person.last_name = first_name, last_name
    person.save()
    return person


def anna(username: str, last_name: str) -> User:
    return called(username, "Anna", last_name)


def measured_by(*names: str) -> bytes:
    rows = [[*row(f"a{place}"), name] for place, name in enumerate(names)]
    return csv_of(rows, header=[*HEADER, "Measured by"])


def checked(world: World, *names: str) -> ImportRun:
    return check(upload(measured_by(*names), world), world)


def stored(run: ImportRun, world: World, **answers: str) -> ImportRun:
    job = runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW, who=answers)
    return work_off(job, run)


@pytest.mark.parametrize(
    ("name", "sure", "could_be"),
    [
        ("anna.k", "anna.k", ()),
        ("ANNA.K", "anna.k", ()),
        ("Anna Kern", "anna.k", ()),
        ("Anna", "", ("anna.k", "anna.m")),
        ("Bo", "bo", ()),  # the whole name of that account
        ("Cleo", "", ("cleo.v",)),  # a first name alone
        ("Dora", "", ()),
    ],
)
def test_a_name_is_sure_asked_about_or_unknown(name: str, sure: str, could_be: tuple[str, ...]) -> None:
    anna("anna.k", "Kern")
    anna("anna.m", "Mohr")
    called("bo", "Bo")
    called("cleo.v", "Cleo", "Voss")
    assert People(User.objects.order_by("pk")).named(name) == Named(name, sure, could_be)


def test_two_people_of_one_whole_name_are_asked_about() -> None:
    anna("anna.1", "Kern")
    anna("anna.2", "Kern")
    assert People(User.objects.order_by("pk")).named("anna kern").could_be == ("anna.1", "anna.2")


def test_nothing_is_stored_before_somebody_says_who_it_is_and_then_it_is_theirs() -> None:
    world = make_world()
    kern = anna("anna.k", "Kern")
    run = checked(world, "Anna", "anna.k", "Dora")
    assert run.report["people"] == [
        {"name": "Anna", "is_user": "", "could_be": ["anna.k"]},
        {"name": "anna.k", "is_user": "anna.k", "could_be": []},
        {"name": "Dora", "is_user": "", "could_be": []},
    ]
    with pytest.raises(PeopleOpen, match="Who measured is not sure: Anna"):
        stored(run, world)
    with pytest.raises(PeopleOpen, match="cannot be 'dora'"):
        stored(run, world, Anna="dora")
    stored(run, world, Anna="anna.k")
    people = list(Inspection.objects.order_by("piece__number").values_list("opened_by", flat=True))
    assert people == [kern.pk, kern.pk, world.inspector.pk]


def test_nobody_here_keeps_the_name_as_a_note() -> None:
    world = make_world()
    anna("anna.k", "Kern")
    stored(checked(world, "Anna"), world, Anna="")
    assert set(Reading.objects.values_list("taken_by", "note")) == {(world.inspector.pk, "read by Anna")}


def test_another_anna_since_the_check_asks_for_another_check() -> None:
    world = make_world()
    called("a", "Anna")
    run = checked(world, "Anna")
    anna("anna.m", "Mohr")
    job = runs.request_store(run=run, accept_suspicious=True, by=world.inspector, at=NOW)
    with pytest.raises(AssertionError, match="Check it again"):
        work_off(job, run)


def test_answers_to_what_was_not_asked_are_left_aside() -> None:
    people: list[dict[str, Any]] = [{"name": "Bo", "is_user": "bo", "could_be": []}]
    assert check_answers(people, {"Bo": "anna", "Eve": "x"}) == {}
