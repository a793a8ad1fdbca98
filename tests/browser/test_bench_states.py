"""Each state of the bench in every width and light: a question, a repeat, what waits, left against right."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory.models import Piece, SlipQuestion
from tests.browser.at_the_bench import asked, enter, stored
from tests.browser.seeing import faults_in_every_look
from tests.factories import make_inspection, make_reading

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def sees_whole(page: Page, selector: str) -> bool:
    """Whether all of an element is in the window as it stands."""
    box = page.locator(selector).bounding_box()
    assert box is not None
    height = page.evaluate("window.innerHeight")
    return bool(box["y"] >= 0 and box["y"] + box["height"] <= height)


def test_a_question_with_two_guesses(bench: Page, piece: Piece) -> None:
    enter(bench, "405")
    asked(bench, "WA-L")
    enter(bench, "345")
    stored(bench, 2)
    bench.goto(f"/bench/{piece.label}/")  # on a slow machine the question waits for the next Enter
    bench.locator(".slip-or").wait_for()
    assert SlipQuestion.objects.count() == 2
    assert "355" not in bench.locator("#bench").inner_text()
    assert faults_in_every_look(bench) == []
    bench.set_viewport_size({"width": 360, "height": 740})
    bench.locator("#reading").focus()
    assert sees_whole(bench, "#reading"), "on a phone the box is seen as soon as it has the focus"
    enter(bench, "k")
    asked(bench, "CF-L")
    assert set(SlipQuestion.objects.values_list("answer", flat=True)) == {"kept"}


def test_a_repeat_and_what_waits_without_a_connection(bench: Page) -> None:
    enter(bench, "405")
    asked(bench, "WA-L")
    enter(bench, "361")
    bench.get_by_text("reading 2 of at most 4").wait_for()
    assert faults_in_every_look(bench) == []
    bench.context.set_offline(True)
    enter(bench, "361")
    bench.locator("#bench-wait").wait_for()
    assert faults_in_every_look(bench) == []


@pytest.mark.parametrize("width", [360, 820, 1200])
def test_the_three_units_stand_in_one_row(bench: Page, width: int) -> None:
    bench.set_viewport_size({"width": width, "height": 900})
    boxes = [label.bounding_box() for label in bench.locator(".bench-units label").all()]
    assert len(boxes) == 3
    assert len({box["y"] for box in boxes if box is not None}) == 1


def test_the_boxes_above_a_worksheet_stand_in_one_line_and_clear_of_the_table(
    bench: Page, piece: Piece
) -> None:
    bench.set_viewport_size({"width": 1200, "height": 900})
    bench.goto(f"/bench/{piece.label}/paper/")
    fields = bench.locator(".bench-paper > .field-row").locator("input, select").all()
    boxes = [box for field in fields if (box := field.bounding_box()) is not None]
    assert len(boxes) == 4
    bottoms = [box["y"] + box["height"] for box in boxes]
    table = bench.locator(".bench-paper table").bounding_box()
    assert table is not None
    assert max(bottoms) - min(bottoms) < 1
    assert table["y"] - max(bottoms) >= 12


def test_left_against_right_as_soon_as_both_are_in(bench: Page, piece: Piece) -> None:
    sitting = make_inspection(piece)
    for code, mm in (("UB", 405), ("WA", 355), ("CF", 305)):
        make_reading(sitting, code, "L", mm=mm)
    bench.reload()
    asked(bench, "UB-R")
    enter(bench, "406")
    asked(bench, "WA-R")
    bench.get_by_role("heading", name="Left against right").wait_for()
    bench.get_by_role("heading", name="Full girth").wait_for()
    assert faults_in_every_look(bench) == []


def test_the_correction_of_a_size(bench: Page, piece: Piece) -> None:
    bench.goto(f"/pieces/{piece.label}/correct/")
    assert faults_in_every_look(bench) == []
    bench.get_by_label("Reason").fill("I thought so")  # nothing is changed, which is refused
    bench.get_by_role("button", name="Correct").click()
    bench.get_by_role("alert").wait_for()
    assert faults_in_every_look(bench) == []
