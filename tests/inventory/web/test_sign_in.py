"""The sign-in: how often it may fail, what it says then, and whom it reminds of first passwords."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest
from django.core.cache import cache
from django.urls import reverse
from django.utils import timezone

from inventory.models.people import Role
from inventory.services import first_passwords, sign_in_tries
from inventory.services.first_passwords import DEMO_NAMES, DEMO_PASSWORD, printed_password
from inventory.services.people import add_first_owner, change_own_password, reset_password
from tests.factories import NOW, PASSWORD, make_user

if TYPE_CHECKING:
    from collections.abc import Iterator

    from django.test import Client

pytestmark = pytest.mark.django_db

URL = "/sign-in/"
WRONG = "not the one"


@pytest.fixture(autouse=True)
def _nothing_counted() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> list[dt.datetime]:
    """A clock that stands still until it is moved."""
    at = [timezone.now()]
    monkeypatch.setattr("inventory.web.sign_in.timezone.now", lambda: at[0])
    return at


def _try(client: Client, name: str, password: str = WRONG, address: str = "10.0.0.1") -> int:
    sent = {"username": name, "password": password}
    return client.post(URL, sent, REMOTE_ADDR=address).status_code


def _wait(client: Client, name: str, address: str = "10.0.0.1") -> str:
    answer = client.post(URL, {"username": name, "password": WRONG}, REMOTE_ADDR=address)
    assert answer.status_code == 429
    assert f"Wait {answer['Retry-After']} seconds, then try again." in answer.content.decode()
    return answer["Retry-After"]


def test_after_five_failures_a_name_waits_a_little_longer_each_time(
    client: Client, clock: list[dt.datetime]
) -> None:
    make_user(username="ines")
    waits = []
    for _ in range(5):
        assert _try(client, "ines", address="10.0.0.1") == 200
    for _ in range(5):
        waits.append(int(_wait(client, "ines", address="10.0.0.2")))  # from elsewhere, too
        clock[0] += dt.timedelta(seconds=waits[-1])
        assert _try(client, "INES", address="10.0.0.3") == 200
    assert waits == [5, 10, 20, 40, 60]
    assert _try(client, "ines", PASSWORD) == 429  # even the right one has to wait
    clock[0] += dt.timedelta(seconds=60)
    assert _try(client, "ines", PASSWORD) == 302


def test_a_good_sign_in_forgets_the_failures_of_its_name(client: Client) -> None:
    make_user(username="ines")
    for _ in range(3):
        for _ in range(4):
            assert _try(client, "ines") == 200
        assert _try(client, "ines", PASSWORD) == 302
        client.logout()


def test_an_address_that_guesses_at_many_names_waits_and_its_own_sign_in_does_not_help(
    client: Client, clock: list[dt.datetime]
) -> None:
    make_user(username="ines")
    for number in range(20):
        assert _try(client, f"name{number}") == 200
        if number % 4 == 0:
            assert _try(client, "ines", PASSWORD) == 302
            client.logout()
    assert _wait(client, "another") == "5"
    assert _try(client, "another", address="10.0.0.9") == 200


def test_the_counts_are_forgotten_a_while_after_the_last_try() -> None:
    now = timezone.now()
    for _ in range(6):
        sign_in_tries.note_try(name="a", address="b", now=now)
    assert sign_in_tries.seconds_to_wait(name="a", address="c", now=now) == 10
    assert sign_in_tries.seconds_to_wait(name="a", address="c", now=now + dt.timedelta(seconds=10)) == 0


def test_a_header_that_the_caller_writes_is_no_other_address(client: Client) -> None:
    for number in range(20):
        sent = {"username": f"name{number}", "password": WRONG}
        client.post(URL, sent, REMOTE_ADDR="10.0.0.1", HTTP_X_FORWARDED_FOR=f"10.9.9.{number}")
    assert _wait(client, "another") == "5"


def test_the_owner_is_reminded_of_demo_passwords_until_they_are_changed(client: Client) -> None:
    people = {name: make_user(Role.VIEWER, username=name) for name in DEMO_NAMES[1:]}
    for person in people.values():
        person.set_password(DEMO_PASSWORD)
        person.save()
    owner = make_user(Role.OWNER, username="boss")
    assert _try(client, "boss", PASSWORD) == 302
    page = client.get(reverse("home")).content.decode()
    assert "inspector, second, viewer. Others know it." in page
    reset_password(person=people["second"], password="another-long-word", by=owner, at=NOW)
    assert "inspector, viewer. Others know it." in client.get(reverse("home")).content.decode()
    for name in ("inspector", "viewer"):
        reset_password(person=people[name], password="another-long-word", by=owner, at=NOW)
    assert "Others know it" not in client.get(reverse("home")).content.decode()


def test_the_first_owner_is_reminded_of_the_printed_password(client: Client) -> None:
    password = printed_password()
    owner = add_first_owner(username="owner", password=password, at=NOW)
    assert _try(client, "owner", password) == 302
    assert "owner. Others know it." in client.get(reverse("home")).content.decode()
    change_own_password(by=owner, old=password, password="my-own-long-word", at=NOW)
    client.logout()
    assert _try(client, "owner", "my-own-long-word") == 302
    assert "Others know it" not in client.get(reverse("home")).content.decode()


def test_nobody_but_an_owner_is_reminded(client: Client) -> None:
    viewer = make_user(Role.VIEWER, username="viewer")
    viewer.set_password(DEMO_PASSWORD)
    viewer.save()
    assert _try(client, "viewer", DEMO_PASSWORD) == 302
    assert "Others know it" not in client.get(reverse("home")).content.decode()


def test_a_demo_name_with_a_password_of_its_own_is_none_of_them() -> None:
    owner = make_user(Role.OWNER, username="owner")
    assert first_passwords.names_with_first_password(owner=owner, typed=PASSWORD) == []
