"""A spec sheet with figures that look like slips, and columns two points could be, in a real Chromium."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from inventory.models import Spec, User
from inventory.models.people import Role
from tests.browser.seeing import faults_in_every_look
from tests.browser.test_exchange import work_off
from tests.factories import LACED, PointRecipe, make_style, make_user
from tests.inventory.services.importing.files_of_pieces import HEADER, csv_of, make_world, row

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SignIn = Callable[[User], "Page"]

SHEET = [
    ["UB", "60", "8", "380", "405", "430", "455"],
    ["WA", "6", "6", "304", "329", "345", "379"],
    ["CF", "5", "5", "29,0", "294", "298", "302"],
]


def choose_file(page: Page, content: bytes) -> None:
    page.get_by_label("File", exact=False).set_input_files(
        {"name": "sheet.csv", "mimeType": "text/csv", "buffer": content}
    )
    page.get_by_role("button", name="Upload").click()


def test_the_preview_of_a_spec_sheet_asks_and_drafts_what_was_accepted(sign_in: SignIn, page: Page) -> None:
    style = make_style(LACED)
    sign_in(make_user(Role.OWNER))
    page.goto("/exchange/bring-in/spec/")
    head = ["Point", "Minus", "Plus", "size 22", "size 24", "size 26", "size 28"]
    choose_file(page, csv_of(SHEET, header=head))
    page.get_by_label("Style").select_option(style.code)
    page.get_by_role("button", name="Check the file").click()
    page.get_by_role("heading", name="Being checked").wait_for()
    work_off()
    page.get_by_role("heading", name="Ready to be stored").wait_for()
    table = page.get_by_role("region", name="Suspicious cells")
    for question in (
        "the other points have about 5.5 mm",
        "Are two figures swapped, is it 354 mm?",
        "Was it 29 centimetres, so 290 mm?",
    ):
        table.get_by_text(question).wait_for()
    assert faults_in_every_look(page) == []
    page.get_by_role("button", name="Draft this spec").click()
    page.get_by_text("Tick that what was typed is to be stored").first.wait_for()
    assert not Spec.objects.exists()
    page.get_by_label("Store all of them as typed").check()
    page.get_by_role("button", name="Draft this spec").click()
    page.get_by_role("heading", name="Being stored").wait_for()
    work_off()
    page.get_by_role("link", name="Open the draft").wait_for()


def test_an_open_column_is_chosen_beside_what_it_could_be(sign_in: SignIn, page: Page) -> None:
    world = make_world()
    make_style([PointRecipe("HW", "half waist")])
    header = [f"Waist (half) {label[-1]}" if label.startswith("WA ") else label for label in HEADER]
    sign_in(world.inspector)
    page.goto("/exchange/bring-in/pieces/")
    choose_file(page, csv_of([row("a1")], header=header))
    page.get_by_label("Meaning of column F").locator("option", has_text="could be HW or WA: choose").wait_for(
        state="attached"
    )
    assert faults_in_every_look(page) == []
    page.get_by_role("button", name="Check the file").click()
    page.get_by_text("'Waist (half) L' could be HW or WA: choose, or leave it out.").first.wait_for()
    assert faults_in_every_look(page) == []
    page.get_by_label("Style (optional)").select_option(world.target.style)
    page.get_by_role("button", name="Check the file").click()
    page.get_by_role("heading", name="Being checked").wait_for()
