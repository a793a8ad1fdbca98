"""The bench with JavaScript off: slower, since every Enter loads a page, but complete."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import pytest
from django.conf import settings
from django.test import Client

from inventory.models import Piece, PieceVerdict, Reading, SlipQuestion, UnreadSide
from inventory.models.people import Role
from tests.browser.at_the_bench import NOMINAL, WALK
from tests.factories import make_piece, make_user

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def plain(chromium: Browser, live_server: LiveServer) -> Iterator[Callable[[str], Page]]:
    """A function that opens an address as a person of a role, scripts switched off."""
    contexts = []

    def opened(address: str, role: str = Role.INSPECTOR) -> Page:
        client = Client()
        client.force_login(make_user(role))
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
        contexts.append(context)
        context.set_default_timeout(5000)
        context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
        page = context.new_page()
        page.goto(address)
        return page

    yield opened
    for context in contexts:
        context.close()


def enter(page: Page, key: str, typed: str) -> None:
    """Type into the box of the step that is asked, with the keyboard alone."""
    page.locator(f'header[data-step="{key}"]:visible').wait_for()
    page.locator("#reading:focus").wait_for()
    page.keyboard.press("Control+A")
    page.keyboard.type(typed)
    page.keyboard.press("Enter")


def test_a_piece_is_measured_from_its_label_to_the_verdict_and_the_next_piece(
    plain: Callable[[str], Page], piece: Piece
) -> None:
    following = make_piece(piece.batch)
    page = plain("/bench/")
    page.locator("#q:focus").wait_for()
    page.keyboard.type(piece.label.lower())
    page.keyboard.press("Enter")
    for key in WALK:
        enter(page, key, NOMINAL[key[:2]])
    page.locator(".bench-finish button:focus").wait_for()
    page.keyboard.press("Enter")
    page.get_by_text("Wrong size suspected: none").wait_for()
    assert PieceVerdict.objects.get().shelf == "in"
    page.locator("#q:focus").wait_for()
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/bench/{following.label}/")


def test_everything_the_bench_asks_is_answered_from_the_keyboard(
    plain: Callable[[str], Page], piece: Piece
) -> None:
    page = plain(f"/bench/{piece.label}/")
    enter(page, "UB-L", "34 3")
    page.locator("#bench-wrong", has_text="Type").wait_for()
    enter(page, "UB-L", "810")
    page.get_by_text("Is this the full girth").wait_for()
    assert not re.search(r"\b405\b", page.locator("#bench").inner_text()), "the nominal stays hidden"
    enter(page, "UB-L", "405")
    enter(page, "WA-L", "361")
    for nth in (2, 3, 4):
        page.get_by_text(f"reading {nth} of at most 4").wait_for()
        enter(page, "WA-L", "361")
    page.get_by_text("Decided by the rule fixed in advance").wait_for()
    enter(page, "CF-L", "315")
    page.get_by_text("Look at the tens again").or_(
        page.get_by_text("Are two figures swapped")
    ).first.wait_for()
    enter(page, "CF-L", "k")
    enter(page, "UB-R", "406")
    first, second = Reading.objects.filter(point__code="UB", side="L").order_by("pk")
    assert (second.corrects, second.typed) == (first, "405")
    assert set(SlipQuestion.objects.values_list("answer", flat=True)) == {"read_again", "kept"}
    page.get_by_role("link", name="Look back at the readings").click()
    page.get_by_role("link", name="Correct").last.click()
    page.locator("#reason").fill("typed wrong")
    page.locator("#reading").focus()
    enter(page, "UB-R", "405")
    page.locator('header[data-step="WA-R"]:visible').wait_for()
    assert Reading.objects.filter(corrections=None, point__code="UB", side="R").get().typed == "405"


def test_a_half_that_cannot_be_read_is_noted_and_allowed_by_the_owner(
    plain: Callable[[str, str], Page], piece: Piece
) -> None:
    page = plain(f"/bench/{piece.label}/", Role.OWNER)
    page.get_by_text("This side cannot be read").click()
    page.locator("#unread-reason").fill("edge torn")
    page.locator("#unread-reason").press("Enter")
    for key in WALK[1:]:
        enter(page, key, NOMINAL[key[:2]])
    page.get_by_role("button", name="Allow it, finish and judge").click()
    page.get_by_text("Taken as twice one half").wait_for()
    assert UnreadSide.objects.get().reason == "edge torn"
