"""The floor in a real browser: accessible in every width and light, whole without a script or a mouse."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from django.conf import settings as django_settings
from django.test import Client
from django.urls import reverse

from inventory.models import Delivery, Piece, Shop, User
from inventory.models.people import Role
from inventory.services.judging import judge_inspection
from tests import factories
from tests.browser.seeing import faults_in_every_look, found_by_axe

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SignIn = Callable[[User], "Page"]


def test_an_empty_shop_says_what_comes_first(sign_in: SignIn) -> None:
    page = sign_in(factories.make_user(Role.OWNER))
    page.goto(reverse("home"), timeout=30_000)
    assert page.get_by_role("heading", name="Before the first parcel").is_visible()


def test_a_refused_decision_is_accessible_and_leads_to_its_box(sign_in: SignIn) -> None:
    piece = factories.make_piece()
    page = sign_in(factories.make_user(Role.OWNER))
    page.goto(reverse("disposition-new", args=[piece.number]), timeout=30_000)
    page.get_by_label("Concession", exact=False).check()
    page.get_by_role("button", name="Decide").press("Enter")
    summary = page.get_by_role("alert")
    assert "who agreed" in summary.inner_text()
    assert found_by_axe(page) == []
    summary.get_by_role("link", name="Agreed with").press("Enter")
    assert page.evaluate("document.activeElement.name") == "agreed_with"


def test_the_question_before_scrapping_is_accessible(sign_in: SignIn) -> None:
    piece = factories.make_piece()
    page = sign_in(factories.make_user(Role.OWNER))
    page.goto(reverse("disposition-new", args=[piece.number]), timeout=30_000)
    page.get_by_label("Scrap", exact=False).check()
    page.get_by_role("textbox", name="Reason").fill("mould")
    page.get_by_role("button", name="Decide").click()
    assert page.get_by_role("heading", name="Scrap this piece?").is_visible()
    assert faults_in_every_look(page) == []
    page.get_by_role("button", name="Scrap it").click()
    page.get_by_text(f"{piece.label}: scrapped.").wait_for()
    piece.refresh_from_db()
    assert piece.standing == "scrap"


def test_from_parcel_to_numbered_pieces_without_a_script_and_without_a_mouse(
    chromium: Browser, live_server: LiveServer
) -> None:
    maker, spec = factories.make_maker(), factories.make_spec()
    client = Client()
    client.force_login(factories.make_user(Role.INSPECTOR))
    cookie = client.cookies[django_settings.SESSION_COOKIE_NAME]
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page = context.new_page()
    try:
        page.goto(reverse("delivery-new"), timeout=30_000)
        page.get_by_label("Maker").select_option(str(maker.pk))
        page.get_by_label("Order reference").fill("PO-12")
        page.get_by_role("button", name="Receive the delivery").press("Enter")
        page.get_by_role("link", name="Add a batch").first.press("Enter")
        page.get_by_label("Style").select_option(str(spec.style.pk))
        page.get_by_role("button", name="Add the batch").press("Enter")
        page.get_by_label("Colour").first.fill("ivory")
        page.get_by_label("Size 24").first.fill("3")
        page.get_by_role("button", name="One more colour or carton").press("Enter")
        assert page.get_by_label("Size 24").count() == 4
        page.get_by_role("button", name="Number the pieces").press("Enter")
        page.get_by_text("Numbered P000001 to P000003").wait_for()
    finally:
        context.close()
    assert Delivery.objects.get().order_reference == "PO-12"
    assert list(Piece.objects.values_list("size_label", "colour")) == [("24", "ivory")] * 3


@pytest.mark.parametrize("width", [360, 820, 1200, 1440])
def test_verdict_and_uncertainty_of_each_point_are_seen_without_scrolling(
    sign_in: SignIn, width: int
) -> None:
    Shop.objects.update(display_unit="in", fraction_denominator=16)
    piece = factories.make_piece()
    sitting = factories.make_inspection(piece, finished_at=factories.NOW)
    factories.measure_all(sitting, {("WA", "L"): 14.0})
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=factories.NOW)
    page = sign_in(factories.make_user(Role.OWNER))
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(reverse("piece", args=[piece.number]), timeout=30_000)
    table = page.get_by_role("region", name="Point by point")
    assert table.evaluate("region => region.scrollWidth - region.clientWidth") <= 0
    page.get_by_text("readings, as typed").click()
    readings = page.get_by_role("region", name="Readings of")
    assert readings.evaluate("region => region.scrollWidth - region.clientWidth") <= 0
