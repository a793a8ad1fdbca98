"""Every screen there is, in a real browser: accessible on a phone and a desk, by daylight and by lamplight.

The screens are those of the resolver (`tests/every_screen.py`), so a new one is looked at without being named
here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

import pytest
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import include, path, reverse

from inventory.models import (
    CataloguePoint,
    Instrument,
    Maker,
    MeasurePoint,
    Piece,
    Reading,
    Shop,
    Spec,
    SpecPoint,
    Style,
    User,
)
from inventory.models.people import Role
from tests.browser.seeing import RULES, WCAG, faults_in_every_look
from tests.every_screen import lay_out_everything
from tests.factories import make_user

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SignIn = Callable[[User], "Page"]

# Four parts, so that the halves of a parallel run share the work.
PARTS: Final = 4
EMPTY: Final = (
    *("home", "deliveries", "delivery-new", "batches", "pieces", "bench", "makers", "styles", "style-new"),
    *("instruments", "rules", "people", "settings", "exchange", "documents", "help"),
)

SET_UP: Final = (Maker, Style, MeasurePoint, Spec, SpecPoint, CataloguePoint, Instrument, Shop, User)
EVIDENCE: Final = (Piece, Reading)


@pytest.mark.parametrize("part", range(PARTS))
def test_every_screen_is_accessible_in_every_width_and_light(sign_in: SignIn, part: int) -> None:
    owner = make_user(Role.OWNER)
    page = sign_in(owner)
    named = lay_out_everything(owner)
    shown_otherwise = {
        "a family chosen": f"{named['style-new']}?family=laced_overbust",
        "a point to copy": f"{named['point-new']}?from=HH",
        "too close to call": f"{named['batch-dispositions']}?shelf=close",
        "a piece waiting": named["bench-piece"].replace("/bench/", "/pieces/"),
        "all of the map": f"{named['batch']}?rows=all&order=worst",
        "nothing found": f"{named['pieces']}?text=nothing",
    }
    addresses = sorted(set(_pages_among(named | shown_otherwise, by=owner)))
    assert len(addresses) > 60
    assert _faults(page, addresses[part::PARTS]) == {}


def test_every_screen_of_an_empty_shop_is_accessible(sign_in: SignIn) -> None:
    page = sign_in(make_user(Role.OWNER))
    assert _faults(page, [reverse(name) for name in EMPTY]) == {}


def test_the_set_up_site_is_accessible(sign_in: SignIn) -> None:
    owner = make_user(Role.OWNER)
    page = sign_in(owner)
    lay_out_everything(owner)
    # The framework draws its tables with empty headings, which is no fault by WCAG but a bad habit.
    assert _faults(page, _set_up_site(owner), rules=WCAG) == {}


def test_the_door_and_the_refusals_are_accessible(page: Page, live_server: LiveServer) -> None:
    found = _faults(page, [reverse("sign-in")])
    page.get_by_label("Name").fill("nobody")
    page.get_by_label("Password").fill("wrong")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("alert").wait_for()
    found["refused at the door"] = faults_in_every_look(page)
    page.get_by_label("Name").fill("nobody")
    page.get_by_label("Password").fill("wrong")
    page.context.clear_cookies()
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="The form was open too long").wait_for()
    found["a form without its cookie"] = faults_in_every_look(page)
    assert {where: faults for where, faults in found.items() if faults} == {}


def break_down(request: HttpRequest) -> HttpResponse:
    raise RuntimeError("on purpose")


urlpatterns = [path("broken/", break_down), path("", include(settings.ROOT_URLCONF))]


@pytest.mark.urls(__name__)
def test_pages_of_errors_are_accessible(sign_in: SignIn) -> None:
    page = sign_in(make_user(Role.VIEWER))
    found = _faults(page, [reverse("settings")], code=403)
    found |= _faults(page, ["/nothing-here/", "/pieces/P999999/"], code=404)
    found |= _faults(page, ["/broken/"], code=500)
    assert found == {}


def _faults(
    page: Page, addresses: list[str], *, code: int = 200, rules: Sequence[str] = RULES
) -> dict[str, list[str]]:
    """What is wrong with each page, after asking for it and getting this code."""
    faults = {}
    for address in addresses:
        answer = page.goto(address, timeout=30_000)
        assert answer is not None
        assert answer.status == code, address
        if found := faults_in_every_look(page, rules=rules):
            faults[address] = found
    return faults


def _pages_among(addresses: dict[str, str], *, by: User) -> Iterator[str]:
    """The addresses that answer with a page of HTML; the rest are files, figures and deeds."""
    client = Client()
    client.force_login(by)
    for address in addresses.values():
        answer = client.get(address)
        if answer.streaming:
            answer.getvalue()  # a file, read whole so that it is closed
        elif answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            yield address


def _set_up_site(owner: User) -> list[str]:
    """The start; list, row and new row of what is set up there; list and row of some evidence."""
    client = Client()
    client.force_login(owner)
    addresses = [reverse("admin:index"), reverse("admin:password_change")]
    for model in (*SET_UP, *EVIDENCE):
        name = f"admin:inventory_{model._meta.model_name}"
        row = model._default_manager.first()
        assert row is not None, model
        addresses += [reverse(f"{name}_changelist"), reverse(f"{name}_change", args=[row.pk])]
        if client.get(reverse(f"{name}_add")).status_code == 200:
            addresses.append(reverse(f"{name}_add"))
    return addresses
