"""Signing in to the API."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from django.core.cache import cache

from inventory.models import AuditRow
from inventory.models.people import Role
from tests.factories import PASSWORD, make_user
from tests.inventory.api.cast import ROLES, Json, client_of, is_asked_to_sign_in, problem, stranger

if TYPE_CHECKING:
    from django.test import Client

pytestmark = pytest.mark.django_db

TOKEN = "/api/v1/token/"


@pytest.fixture(autouse=True)
def no_tries_of_another_test() -> Iterator[None]:
    """Forget how often somebody tried to sign in."""
    cache.clear()
    yield
    cache.clear()


def sign_in(name: str, password: str = PASSWORD) -> Json:
    return stranger().post(TOKEN, {"username": name, "password": password})


@pytest.mark.parametrize("role", ROLES)
def test_name_and_password_give_a_token_that_opens_the_door(role: str) -> None:
    person = make_user(role)
    answer = sign_in(person.username)
    assert answer.status_code == 200
    assert answer.json() | {"token": ""} == {"token": "", "username": person.username, "role": role}
    client = stranger()
    client.credentials(HTTP_AUTHORIZATION=f"Token {answer.json()['token']}")
    assert client.delete(TOKEN).status_code == 204
    assert list(AuditRow.objects.filter(subject_id=person.pk).values_list("deed", flat=True)) == [
        "revoke token",
        "issue token",
    ]


def test_the_same_token_is_given_until_it_is_handed_back() -> None:
    name = make_user().username
    first, second = sign_in(name).json(), sign_in(name).json()
    assert first == second
    client = stranger()
    client.credentials(HTTP_AUTHORIZATION=f"Token {first['token']}")
    client.delete(TOKEN)
    assert is_asked_to_sign_in(client.delete(TOKEN))
    assert sign_in(name).json()["token"] != first["token"]


def test_an_old_token_in_the_header_does_not_keep_anybody_from_signing_in() -> None:
    client = stranger()
    client.credentials(HTTP_AUTHORIZATION="Token 0123456789abcdef")
    answer = client.post(TOKEN, {"username": make_user().username, "password": PASSWORD})
    assert answer.status_code == 200


def test_a_wrong_password_and_a_wrong_name_are_told_alike() -> None:
    person = make_user()
    wrong = problem(sign_in(person.username, "wrong"), 401, says="Name or password is not right")
    assert wrong == problem(sign_in("nobody", "wrong"), 401)


def test_a_person_switched_off_gets_no_token_and_an_old_one_opens_nothing() -> None:
    person = make_user()
    client = client_of(user=person)
    person.is_active = False
    person.save()
    assert is_asked_to_sign_in(sign_in(person.username))
    assert is_asked_to_sign_in(client.delete(TOKEN))


def test_a_stranger_cannot_hand_back_a_token() -> None:
    assert is_asked_to_sign_in(stranger().delete(TOKEN))


def test_guessing_passwords_is_slowed_down() -> None:
    for number in range(10):
        problem(sign_in(f"name{number}", "guess"), 401)
    answer = sign_in(make_user(Role.OWNER).username)
    problem(answer, 429, says="throttled")
    assert 0 < int(answer["Retry-After"]) <= 60


def test_guessing_at_one_name_has_to_wait_after_five_tries_here_and_on_the_page(client: Client) -> None:
    name = make_user(Role.OWNER).username
    for _ in range(5):
        problem(sign_in(name.upper(), "guess"), 401)
    answer = sign_in(name)
    problem(answer, 429, says="Too many tries in vain.")
    assert 0 < int(answer["Retry-After"]) <= 5
    assert sign_in(make_user().username).status_code == 200, "another name need not wait"
    assert client.post("/sign-in/", {"username": name, "password": PASSWORD}).status_code == 429


def test_a_good_try_makes_the_failures_of_a_name_forgotten() -> None:
    name = make_user().username
    for _ in range(2):
        for _ in range(4):
            problem(sign_in(name, "guess"), 401)
        cache.delete("throttle_token_127.0.0.1")  # tries from one address a minute are another matter
        assert sign_in(name).status_code == 200


def test_a_made_up_address_in_a_header_does_not_lift_the_brake() -> None:
    for number in range(10):
        stranger().post(TOKEN, {"username": "a", "password": "b"}, HTTP_X_FORWARDED_FOR=f"10.0.0.{number}")
    problem(stranger().post(TOKEN, {"username": "a", "password": "b"}, HTTP_X_FORWARDED_FOR="10.9.9.9"), 429)
