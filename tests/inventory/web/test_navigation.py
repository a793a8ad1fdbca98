"""The main navigation: what each role sees, and where one is."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory
from django.urls import path

from inventory.models import User
from inventory.models.people import Role
from inventory.web import navigation


def nothing(request: HttpRequest) -> HttpResponse:
    return HttpResponse(b"")


# Stand-in addresses, so that these tests say nothing about the real ones; "documents" does not exist here.
urlpatterns = [
    path("", nothing, name="home"),
    path("settings/", nothing, name="settings"),
    *(
        path(f"{name}/", nothing, name=name)
        for name in ("deliveries", "bench", "batches", "makers", "styles", "exchange", "help")
    ),
]
pytestmark = pytest.mark.urls(__name__)


def request(address: str = "/", *, role: str | None = Role.OWNER) -> HttpRequest:
    made = RequestFactory().get(address)
    made.user = AnonymousUser() if role is None else User(username="somebody", role=role)
    return made


def labels(entries: list[navigation.Entry]) -> list[str]:
    return [entry.label for entry in entries]


def test_the_owner_sees_everything_that_exists() -> None:
    assert labels(navigation.main_entries(request())) == [
        "Deliveries",
        "Bench",
        "Batches",
        "Makers",
        "Styles",
        "Import & export",
        "Settings",
    ]


def test_the_inspector_does_not_see_the_settings() -> None:
    seen = labels(navigation.main_entries(request(role=Role.INSPECTOR)))
    assert "Bench" in seen
    assert "Settings" not in seen


def test_the_viewer_sees_neither_bench_nor_settings() -> None:
    seen = labels(navigation.main_entries(request(role=Role.VIEWER)))
    assert "Batches" in seen
    assert {"Bench", "Settings"}.isdisjoint(seen)


def test_the_stranger_and_the_switched_off_person_see_nothing() -> None:
    assert navigation.main_entries(request(role=None)) == []
    switched_off = request()
    assert isinstance(switched_off.user, User)
    switched_off.user.is_active = False
    assert navigation.main_entries(switched_off) == []


def test_the_page_itself_is_exact_and_a_page_below_it_only_current() -> None:
    here = {e.label: (e.current, e.exact) for e in navigation.main_entries(request("/batches/"))}
    assert here["Batches"] == (True, True)
    assert here["Deliveries"] == (False, False)
    below = {e.label: (e.current, e.exact) for e in navigation.main_entries(request("/batches/B00001/"))}
    assert below["Batches"] == (True, False)


def test_a_person_s_own_menu_holds_what_exists() -> None:
    assert labels(navigation.account_entries(request(role=Role.VIEWER))) == ["Help"]


def test_an_address_that_does_not_exist_is_none() -> None:
    assert navigation.url_or_none("documents") is None
    assert navigation.url_or_none("home") == "/"
