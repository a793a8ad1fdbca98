"""The main job from parcel to paper with the keyboard alone: what has to be reached is reached by Tab."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Final

import pytest
from django.urls import reverse

from inventory.models import Piece, PieceVerdict, User
from inventory.models.people import Role
from reports.models import Document
from tests.factories import make_maker, make_spec, make_style, make_user

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MOST_TABS: Final = 90
NOMINAL: Final = {"UB": "405", "WA": "355", "CF": "305"}  # of size 24
WALK: Final = ("UB-L", "WA-L", "CF-L", "UB-R", "WA-R", "CF-R")
# What a screen reader would call the element that has the focus.
NAME_OF_FOCUS: Final = """() => {
    const at = document.activeElement;
    const labels = [...(at.labels ?? [])].map(label => label.innerText);
    return (at.getAttribute("aria-label") ?? (labels.length ? labels.join(" ") : at.innerText ?? ""))
        .replace(/\\s+/g, " ").trim();
}"""


class Hands:
    """Two hands on a keyboard: Tab, letters, arrows, Space and Enter, and nothing else."""

    def __init__(self, page: Page) -> None:
        self.page = page
        page.mouse.move(0, 0)

    def reach(self, name: str) -> None:
        """Press Tab until something whose name begins with these whole words has the focus."""
        passed = []
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            here = str(self.page.evaluate(NAME_OF_FOCUS))
            if f"{here} ".startswith(f"{name} "):
                return
            passed.append(here)
        pytest.fail(f"{name!r} is not reached by Tab on {self.page.url}; passed {passed}")

    def follow(self, name: str) -> None:
        """Reach a link or a button, press Enter, and wait for the next page."""
        self.reach(name)
        with self.page.expect_navigation(timeout=20_000):
            self.page.keyboard.press("Enter")

    def fill(self, name: str, typed: str) -> None:
        self.reach(name)
        self.page.keyboard.type(typed)

    def choose(self, name: str, down: int = 1) -> None:
        """Reach a list and go so many entries down."""
        self.reach(name)
        for _ in range(down):
            self.page.keyboard.press("ArrowDown")

    def tick(self, name: str) -> None:
        """Reach a group of choices, then go down to the one of this name."""
        passed = []
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            if self.page.evaluate("document.activeElement.type") == "radio":
                break
        for _ in range(12):
            here = str(self.page.evaluate(NAME_OF_FOCUS))
            if here.startswith(name):
                self.page.keyboard.press("Space")
                return
            passed.append(here)
            self.page.keyboard.press("ArrowDown")
        pytest.fail(f"{name!r} is not among the choices {passed}")


@pytest.fixture
def hands(sign_in: Callable[[User], Page]) -> Hands:
    return Hands(sign_in(make_user(Role.OWNER)))


def test_from_parcel_to_paper_without_a_mouse(hands: Hands) -> None:
    make_maker(name="Northgate Sewing")
    make_spec(make_style(name="Elm"))
    page = hands.page
    page.goto(reverse("home"), timeout=30_000)

    hands.follow("Receive a delivery")
    hands.choose("Maker")
    hands.fill("Order reference", "TR-1")
    hands.follow("Receive the delivery")
    hands.follow("Add a batch")
    hands.choose("Style")
    hands.follow("Add the batch")
    hands.fill("Colour", "ivory")
    hands.fill("Size 24", "1")
    hands.follow("Number the pieces")
    piece = Piece.objects.get()

    hands.follow("Measure")
    page.locator("#reading:focus").wait_for()
    for key in WALK:
        page.locator(f'#bench[data-step="{key}"] [data-step="{key}"]:visible').wait_for()
        page.keyboard.type(NOMINAL[key[:2]])
        page.keyboard.press("Enter")
    page.locator(".bench-finish button:focus").wait_for(timeout=20_000)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert PieceVerdict.objects.get().shelf == "in"

    page.locator("#q:focus").wait_for()
    page.goto(reverse("piece", args=[piece.number]))  # as a scanned tag would
    hands.follow("Decide")
    hands.tick("Release: it may be sold")
    hands.follow("Decide")
    piece.refresh_from_db()
    assert piece.standing == "release"

    hands.follow("Inspection sheet")
    hands.follow("Make the document")
    document = Document.objects.get()
    assert (document.kind, document.piece) == ("piece-sheet", piece)
    assert page.get_by_text("Being made").is_visible()


def test_every_menu_opens_by_keyboard_and_leads_on(hands: Hands) -> None:
    page = hands.page
    page.goto(reverse("home"), timeout=30_000)
    hands.reach(User.objects.get().username)
    page.keyboard.press("Enter")
    hands.follow("Change password")
    assert page.url.endswith(reverse("password-change"))
    page.set_viewport_size({"width": 360, "height": 800})
    page.goto(reverse("home"))
    hands.reach("Menu")
    page.keyboard.press("Enter")
    hands.follow("Batches")
    assert page.url.endswith(reverse("batches"))
