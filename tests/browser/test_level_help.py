"""Help with the level in a real browser: worked out in place, stored with Enter, forgotten with the step."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory.models import Reading
from tests.browser.at_the_bench import asked, enter, stored
from tests.browser.seeing import faults_in_every_look

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def _take_the_slant_out(bench: Page) -> None:
    bench.locator(".bench-level > summary").click()
    bench.get_by_text("The tape lay slanted").click()
    bench.get_by_label("Reading along the slant").fill("405.6")
    bench.get_by_label("Height at the start").fill("100")
    bench.get_by_label("Height at the far end").fill("120")
    bench.get_by_label("Height at the far end").press("Enter")
    bench.locator("[data-working]:focus").wait_for()


def test_a_slant_is_taken_out_in_place_and_the_corrected_figure_stored_with_its_working(bench: Page) -> None:
    asked(bench, "UB-L")
    _take_the_slant_out(bench)
    assert faults_in_every_look(bench) == []
    bench.keyboard.press("Enter")
    assert bench.locator("#reading").input_value() == "405.1 mm"
    bench.keyboard.press("Enter")
    stored(bench, 1)
    reading = Reading.objects.get()
    assert (reading.typed, reading.length_nm) == ("405.1 mm", 405_100_000)
    assert reading.working is not None
    assert reading.working["given"][0] == ["Reading", 405_600_000]


def test_a_working_does_not_go_along_with_the_next_figure(bench: Page) -> None:
    asked(bench, "UB-L")
    _take_the_slant_out(bench)
    bench.keyboard.press("Enter")
    bench.keyboard.press("Enter")
    stored(bench, 1)
    asked(bench, "WA-L")
    assert bench.locator("[data-working]").count() == 0
    enter(bench, "355")
    stored(bench, 2)
    assert Reading.objects.get(point__code="WA").working is None
