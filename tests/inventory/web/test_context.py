"""What every page is given, and that it costs one query at most."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.test import RequestFactory
from pytest_django import DjangoAssertNumQueries

from inventory.calc.length import Display, Unit
from inventory.models import Shop, User
from inventory.models.people import Role
from inventory.web import context
from tests.factories import make_user


def request(user: User | AnonymousUser) -> HttpRequest:
    made = RequestFactory().get("/nowhere/")
    made.user = user
    return made


@pytest.mark.django_db
def test_a_signed_in_person_gets_shop_display_role_and_navigation() -> None:
    Shop.objects.update(name="Quayside Stays", display_unit="in", fraction_denominator=16)
    given = context.shop(request(make_user(Role.INSPECTOR)))
    assert given["shop"].name == "Quayside Stays"
    assert given["display"] == Display(Unit.INCH, 16)
    assert str(given["display_words"]) == "inches, rounded to 1/16 where no tape has the mark"
    assert given["role"] == "inspector"
    assert {"nav", "account_nav", "home_url", "sign_out_url"} <= set(given)


@pytest.mark.django_db
def test_the_stranger_gets_no_navigation_and_no_role() -> None:
    given = context.shop(request(AnonymousUser()))
    assert {"nav", "account_nav", "role", "display"}.isdisjoint(given)


def test_a_request_that_failed_before_sign_in_was_looked_up_still_gets_a_page() -> None:
    assert "home_url" in context.shop(RequestFactory().get("/"))


@pytest.mark.django_db
def test_a_page_costs_one_query_for_the_shop(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    somebody = make_user(Role.OWNER)
    with django_assert_num_queries(1):
        html = render_to_string("403.html", request=request(somebody))
    assert "Our shop" in html
    assert "Lengths shown in millimetres" in html
    assert '<a href="/api/v1/docs/">For other programs</a>' in html


def test_pages_for_strangers_need_no_database() -> None:
    html = render_to_string("404.html", request=request(AnonymousUser()))
    assert "/nowhere/" in html
    assert "Sign out" not in html


@pytest.mark.parametrize("page", ["500.html", "403_csrf.html"])
def test_the_emergency_pages_need_neither_request_nor_database(page: str) -> None:
    html = render_to_string(page)
    assert "<h1>" in html
    assert "tokens.css" in html


@pytest.mark.django_db
def test_signing_out_is_a_form_and_not_a_link() -> None:
    html = render_to_string("403.html", request=request(make_user(Role.OWNER)))
    assert '<form method="post" action="/sign-out/">' in html
    assert 'href="/sign-out/"' not in html
