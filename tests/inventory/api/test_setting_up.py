"""Makers, styles and specs: looked up by other programs, never changed by them."""

from __future__ import annotations

import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.models import Shop
from inventory.models.people import Role
from tests.factories import make_maker, make_spec, make_style
from tests.inventory.api.cast import ROLES, client_of, is_asked_to_sign_in, problem, stranger

pytestmark = pytest.mark.django_db

LISTS = ("/api/v1/makers/", "/api/v1/styles/")


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("address", LISTS)
def test_everybody_who_signs_in_may_look(role: str, address: str) -> None:
    assert client_of(role).get(address).json() == {"next": None, "results": []}


@pytest.mark.parametrize("address", [*LISTS, "/api/v1/makers/m1/", "/api/v1/styles/s1/", "/api/v1/specs/1/"])
def test_a_stranger_is_asked_to_sign_in(address: str) -> None:
    assert is_asked_to_sign_in(stranger().get(address))


@pytest.mark.parametrize("address", LISTS)
def test_nothing_is_set_up_from_here(address: str) -> None:
    problem(client_of(Role.OWNER).post(address, {}), 405, says="POST")


def test_a_maker_is_found_by_its_code_in_any_case() -> None:
    make_maker(code="north", name="North Row", notice_window_days=10)
    shown = client_of().get("/api/v1/makers/NORTH/").json()
    assert (shown["code"], shown["name"], shown["notice_window_days"]) == ("north", "North Row", 10)


def test_what_is_not_there_is_named() -> None:
    client = client_of()
    problem(client.get("/api/v1/makers/none/"), 404, says="no maker with the code 'none'")
    problem(client.get("/api/v1/styles/none/"), 404, says="no style with the code 'none'")
    problem(client.get("/api/v1/specs/99/"), 404, says="no spec 99")


def test_retired_ones_are_shown_on_demand() -> None:
    make_maker(code="gone", is_active=False)
    make_style(code="old", is_active=False)
    client = client_of()
    for address in LISTS:
        assert client.get(address).json()["results"] == []
        assert len(client.get(f"{address}?with_retired=true").json()["results"]) == 1
    wrong = problem(client.get("/api/v1/makers/?with_retired=perhaps"), 400)
    assert [entry["parameter"] for entry in wrong["errors"]] == ["with_retired"]


def test_a_style_has_its_points_in_walk_order_and_its_revisions() -> None:
    spec = make_spec()
    shown = client_of().get(f"/api/v1/styles/{spec.style.code}/").json()
    assert [(point["code"], point["sides_read"]) for point in shown["points"]] == [
        ("UB", ["L", "R"]),
        ("WA", ["L", "R"]),
        ("CF", ["L", "R"]),
    ]
    assert shown["points"][0]["same_person_sd"] == {"nm": 1_000_000, "mm": "1", "shown": "1 mm"}
    assert shown["specs"] == [{"id": spec.pk, "revision": 1, "state": "in_force"}]


def test_a_spec_shows_its_figures_exactly_and_as_the_shop_does() -> None:
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    spec = make_spec()
    shown = client_of().get(f"/api/v1/specs/{spec.pk}/").json()
    waist = next(row for row in shown["rows"] if row["point"] == "WA")
    assert shown["sizes"] == ["22", "24", "26"]
    assert waist["basis"] == "half"
    assert waist["cells"][1]["size"] == "24"
    # 355 mm are 13.976… in, to the eighth 14 in: the fraction is for reading, the millimetres are exact.
    assert waist["cells"][1]["nominal"] == {"nm": 355_000_000, "mm": "355", "shown": "14 in"}
    assert waist["asymmetry_limit"]["mm"] == "6"
    assert waist["favourable_limit"] is None


def test_a_list_costs_the_same_whatever_it_holds(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    client = client_of()
    for _ in range(4):
        make_spec()
        make_maker()
        with django_assert_num_queries(3):  # who asks, the page, the shop's display
            client.get("/api/v1/makers/")
        with django_assert_num_queries(5):  # and points and revisions
            client.get("/api/v1/styles/")
