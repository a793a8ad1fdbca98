"""The bench in a real browser: hands on a garment, a typing tape, a lost connection, no script, no colour."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from inventory.models import Inspection, Piece, PieceVerdict, Reading, SlipQuestion, User
from inventory.models.people import Role
from tests.browser.at_the_bench import NOMINAL, WALK, asked, columns, enter, stored, waiting_in
from tests.browser.seeing import faults_in_every_look, found_by_axe
from tests.factories import make_batch, make_inspection, make_piece, make_user, measure_all

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_whole_piece_and_the_way_to_the_next_need_only_the_keyboard(bench: Page, piece: Piece) -> None:
    following = make_piece(piece.batch)
    for key in WALK:
        asked(bench, key)
        enter(bench, NOMINAL[key[:2]])
    bench.locator(".bench-finish button:focus").wait_for()
    bench.keyboard.press("Enter")
    bench.get_by_text("Wrong size suspected: none").wait_for()
    assert PieceVerdict.objects.get().shelf == "in"
    bench.locator("#q:focus").wait_for()
    bench.keyboard.press("Enter")
    bench.wait_for_url(f"**/bench/{following.label}/")
    assert [key for key, _, _ in columns()] == list(WALK)


def test_a_tape_that_types_faster_than_the_server_answers_loses_nothing(bench: Page) -> None:
    for key in WALK:
        enter(bench, NOMINAL[key[:2]])
    stored(bench, 6)
    assert [(key, typed) for key, typed, _ in columns()] == [(key, NOMINAL[key[:2]]) for key in WALK]


def test_a_tape_that_types_digits_and_enter_in_one_burst_fills_the_walk_in_order(bench: Page) -> None:
    """Five thousandths of a second from key to key, Enter included: a tape at a USB socket."""
    bench.keyboard.type("".join(f"{NOMINAL[key[:2]]}\n" for key in WALK), delay=5)
    stored(bench, 6)
    assert [(key, typed) for key, typed, _ in columns()] == [(key, NOMINAL[key[:2]]) for key in WALK]
    bench.locator(".bench-finish button:focus").wait_for()


def test_a_tape_that_types_finds_the_box_wherever_the_focus_is(bench: Page) -> None:
    bench.locator(".bench-walk summary").focus()
    enter(bench, "405")
    stored(bench, 1)
    assert columns()[0][:2] == ("UB-L", "405")


def test_a_text_that_is_no_length_stays_in_the_box_with_the_reason(bench: Page) -> None:
    enter(bench, "34 3")
    bench.locator("#reading[aria-invalid=true]").wait_for()
    assert bench.locator("#reading").input_value() == "34 3"
    assert "Type" in bench.locator("#bench-wrong").inner_text()
    assert bench.locator("#bench-status").inner_text() == "", "it is said once, below the box"
    assert not Reading.objects.exists()
    assert found_by_axe(bench) == []
    enter(bench, "405")  # the refused text is selected, so that typing replaces it
    asked(bench, "WA-L")
    stored(bench, 1)


def test_a_slip_is_asked_about_and_k_keeps_the_figure(bench: Page) -> None:
    enter(bench, "810")
    bench.get_by_text("Is this the full girth").wait_for()
    assert found_by_axe(bench) == []
    enter(bench, "k")
    asked(bench, "WA-L")
    stored(bench, 1)
    assert (SlipQuestion.objects.get().answer, Reading.objects.get().typed) == ("kept", "810")


def test_the_button_keeps_the_figure_as_well(bench: Page) -> None:
    enter(bench, "810")
    bench.get_by_role("button", name="Keep what I read").click()
    asked(bench, "WA-L")
    stored(bench, 1)
    assert SlipQuestion.objects.get().answer == "kept"


def test_reading_again_under_the_question_corrects_the_figure(bench: Page) -> None:
    enter(bench, "810")
    bench.get_by_text("Is this the full girth").wait_for()
    enter(bench, "405")
    asked(bench, "WA-L")
    stored(bench, 2)
    old, new = Reading.objects.order_by("pk")
    assert (new.corrects, new.reason) == (old, "read again"), "no reason is put into the person's mouth"


def test_k_alone_keeps_the_figure_and_the_enter_of_habit_answers_nothing_else(bench: Page) -> None:
    enter(bench, "810")
    bench.get_by_text("Is this the full girth").wait_for()
    bench.keyboard.press("k")
    asked(bench, "WA-L")
    bench.keyboard.press("Enter")
    assert bench.locator("#bench-wrong").inner_text() == ""
    enter(bench, "355")
    asked(bench, "CF-L")
    stored(bench, 2)
    assert SlipQuestion.objects.get().answer == "kept"


def test_back_and_forward_never_store_a_repeat_that_nobody_asked_for(bench: Page) -> None:
    enter(bench, "405")
    asked(bench, "WA-L")
    stored(bench, 1)
    bench.goto("/bench/")
    bench.go_back()
    asked(bench, "WA-L")
    assert "1 of 6 read" in bench.locator(".bench-progress").inner_text()
    bench.go_forward()
    bench.go_back()
    asked(bench, "WA-L")
    enter(bench, "355")
    asked(bench, "CF-L")
    stored(bench, 2)


def test_a_page_that_was_left_behind_says_that_the_point_is_read(bench: Page) -> None:
    second = bench.context.new_page()
    second.goto(bench.url)
    asked(second, "UB-L")
    enter(bench, "405")
    stored(bench, 1)
    enter(second, "406")
    second.get_by_text("is read already").wait_for()
    asked(second, "WA-L")
    assert waiting_in(second) == 0
    assert Reading.objects.count() == 1


def test_a_reading_too_close_to_call_is_asked_for_four_times_and_then_the_rule_decides(bench: Page) -> None:
    enter(bench, "405")
    asked(bench, "WA-L")
    enter(bench, "361")
    for nth in (2, 3, 4):
        bench.get_by_text(f"reading {nth} of at most 4").wait_for()
        assert not re.search(r"\b361\b", bench.locator("#bench").inner_text())
        enter(bench, "361")
    asked(bench, "CF-L")
    bench.get_by_text("Decided by the rule fixed in advance").wait_for()
    assert Reading.objects.filter(point__code="WA", side="L").count() == 4


def test_readings_typed_without_a_connection_are_stored_exactly_once(bench: Page) -> None:
    enter(bench, "405")
    stored(bench, 1)
    bench.context.set_offline(True)
    for key in ("WA-L", "CF-L", "UB-R"):
        asked(bench, key)
        enter(bench, NOMINAL[key[:2]])
    bench.get_by_text("3 readings waiting to be sent").wait_for()
    assert found_by_axe(bench) == []
    assert Reading.objects.count() == 1
    bench.context.set_offline(False)
    stored(bench, 4)
    assert [key for key, _, _ in columns()] == ["UB-L", "WA-L", "CF-L", "UB-R"]
    bench.locator("#bench-wait").wait_for(state="detached")


def test_an_answer_lost_on_the_way_does_not_store_the_reading_twice(bench: Page) -> None:
    lost: list[str] = []

    def lose_the_first(route: object) -> None:
        if not lost:
            lost.append("one")
            route.fetch()  # type: ignore[attr-defined]  # it reaches the server; the answer does not come back
            route.abort()  # type: ignore[attr-defined]
        else:
            route.continue_()  # type: ignore[attr-defined]

    bench.route("**/readings/", lose_the_first)
    enter(bench, "405")
    stored(bench, 1)
    bench.wait_for_timeout(1500)  # the second try comes after a second
    assert (lost, waiting_in(bench), Reading.objects.count()) == (["one"], 0, 1)


def test_what_waits_is_sent_from_the_next_page_of_the_bench_too(bench: Page) -> None:
    bench.route("**/readings/", lambda route: route.abort())
    enter(bench, "405")
    asked(bench, "WA-L")
    assert waiting_in(bench) == 1
    bench.unroute("**/readings/")
    bench.goto("/bench/")
    stored(bench, 1)
    assert Reading.objects.count() == 1


def test_two_tabs_send_what_waits_only_once(bench: Page, piece: Piece) -> None:
    posts: list[str] = []
    bench.context.on(
        "request", lambda request: posts.append(request.url) if request.method == "POST" else None
    )
    bench.context.set_offline(True)
    enter(bench, "405")
    asked(bench, "WA-L")
    bench.get_by_text("1 reading waiting to be sent").wait_for()
    bench.context.set_offline(False)
    other = bench.context.new_page()
    other.goto("/bench/")
    stored(bench, 1)
    bench.wait_for_timeout(500)
    assert Reading.objects.count() == 1
    assert len([url for url in posts if url.endswith("/readings/")]) <= 2  # one failed offline, one sent


def test_nobody_sends_what_another_person_read(
    bench: Page, sign_in: Callable[[User], Page], piece: Piece
) -> None:
    bench.route("**/readings/", lambda route: route.abort())
    enter(bench, "405")
    asked(bench, "WA-L")
    sign_in(make_user(Role.INSPECTOR, username="bo"))
    bench.unroute("**/readings/")
    bench.goto("/bench/")
    bench.locator(".bench-wait").wait_for()
    bench.wait_for_timeout(500)
    assert "wait" in bench.locator(".bench-wait").inner_text()
    assert (Reading.objects.count(), waiting_in(bench)) == (0, 1)


def test_signed_out_in_the_middle_the_figure_waits_and_the_page_says_so(bench: Page) -> None:
    bench.context.clear_cookies()
    enter(bench, "405")
    bench.get_by_text("You are signed out").wait_for()
    assert waiting_in(bench) == 1


def test_read_aloud_is_off_until_chosen_and_remembered(bench: Page) -> None:
    button = bench.locator("#bench-speak")
    assert button.get_attribute("aria-pressed") == "false"
    button.click()
    bench.reload()
    assert bench.locator("#bench-speak").get_attribute("aria-pressed") == "true"


def test_every_screen_of_the_bench_is_fit_for_everyone(bench: Page, piece: Piece) -> None:
    other = make_piece(piece.batch)
    sitting = make_inspection(other)
    faults = faults_in_every_look(bench)
    enter(bench, "405")
    stored(bench, 1)
    for address in (
        f"/bench/{piece.label}/?after=UB-L",
        f"/bench/{piece.label}/readings/",
        f"/bench/{piece.label}/?correct={Reading.objects.get().pk}",
        f"/bench/{make_piece(make_batch()).label}/paper/",
        "/bench/",
        "/bench/?q=nonsense",
    ):
        bench.goto(address)
        faults += [f"{address} {fault}" for fault in faults_in_every_look(bench)]
    measure_all(sitting)
    bench.goto(f"/bench/{other.label}/")
    faults += [f"finish {fault}" for fault in faults_in_every_look(bench)]
    bench.get_by_role("button", name="Finish and judge").click()
    bench.wait_for_url("**/finish/")
    faults += [f"verdict {fault}" for fault in faults_in_every_look(bench)]
    bench.goto(f"/bench/{other.label}/")
    faults += [f"judged {fault}" for fault in faults_in_every_look(bench)]
    assert faults == []
    assert Inspection.objects.filter(finished_at__isnull=False).count() == 1
