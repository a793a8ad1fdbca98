"""The bench without a connection, in a real browser: whatever happens, each figure is stored exactly once."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Error

from inventory.models import Inspection, Piece, Reading
from tests.browser.at_the_bench import NOMINAL, WALK, asked, columns, enter, open_bench, stored, waiting_in
from tests.conftest import ShopFolder
from tests.factories import PASSWORD, make_piece
from tests.shop_qc.test_serve import free_port

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Dialog, Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def type_walk(page: Page, keys: tuple[str, ...]) -> None:
    for key in keys:
        asked(page, key)
        enter(page, NOMINAL[key[:2]])


def says_waiting(page: Page, count: int) -> None:
    word = "reading" if count == 1 else "readings"
    page.get_by_text(f"{count} {word} waiting to be sent").wait_for()


def test_five_figures_typed_without_a_connection_outlive_the_closed_tab(bench: Page, piece: Piece) -> None:
    context = bench.context
    type_walk(bench, WALK[:1])
    stored(bench, 1)
    context.set_offline(True)
    type_walk(bench, WALK[1:])
    says_waiting(bench, 5)
    bench.get_by_text("Every point is typed").wait_for()
    bench.close()
    again = context.new_page()
    with pytest.raises(Error, match="ERR_INTERNET_DISCONNECTED"):
        again.goto(f"/bench/{piece.label}/")
    context.set_offline(False)
    again.goto(f"/bench/{piece.label}/")
    stored(again, 6)
    assert [(key, typed) for key, typed, _ in columns()] == [(key, NOMINAL[key[:2]]) for key in WALK]
    again.get_by_role("button", name="Finish and judge").wait_for()


def test_leaving_without_a_connection_is_asked_about_while_figures_wait(bench: Page) -> None:
    asked_to_stay: list[str] = []

    def leave_all_the_same(dialog: Dialog) -> None:
        asked_to_stay.append(dialog.type)
        dialog.accept()

    bench.on("dialog", leave_all_the_same)
    type_walk(bench, WALK[:1])
    stored(bench, 1)
    bench.reload()
    bench.locator("#reading:focus").wait_for()
    assert asked_to_stay == []
    bench.context.set_offline(True)
    type_walk(bench, WALK[1:2])
    says_waiting(bench, 1)
    with pytest.raises(Error, match="ERR_INTERNET_DISCONNECTED"):
        bench.reload()
    assert asked_to_stay == ["beforeunload"]


def test_two_tabs_on_two_pieces_each_send_their_own_figures_once(bench: Page, piece: Piece) -> None:
    other_piece = make_piece(piece.batch)
    other = bench.context.new_page()
    open_bench(other, other_piece.label)
    bench.context.set_offline(True)
    other.bring_to_front()
    type_walk(other, WALK[:3])
    bench.bring_to_front()
    type_walk(bench, WALK[:2])
    says_waiting(bench, 5)  # what waits in this browser, whichever tab it was typed in
    bench.context.set_offline(False)
    stored(bench, 5)
    assert [(key, len(columns_of(one))) for key, one in (("here", piece), ("there", other_piece))] == [
        ("here", 2),
        ("there", 3),
    ]
    assert columns_of(other_piece) == list(WALK[:3])
    assert Inspection.objects.count() == 2


def columns_of(piece: Piece) -> list[str]:
    readings = Reading.objects.filter(inspection__piece=piece).select_related("point").order_by("pk")
    return [f"{reading.point.code}-{reading.side}" for reading in readings]


def test_a_session_that_ended_meanwhile_costs_a_sign_in_and_no_figure(bench: Page, piece: Piece) -> None:
    type_walk(bench, WALK[:1])
    stored(bench, 1)
    bench.context.set_offline(True)
    type_walk(bench, WALK[1:3])
    bench.context.clear_cookies()
    bench.context.set_offline(False)
    bench.get_by_text("You are signed out").wait_for()
    type_walk(bench, WALK[3:4])
    says_waiting(bench, 3)
    bench.get_by_role("link", name="sign in again").click()
    bench.get_by_label("Name").first.fill("ana")
    bench.get_by_label("Password").fill(PASSWORD)
    bench.keyboard.press("Enter")
    bench.wait_for_url(f"**/bench/{piece.label}/")
    stored(bench, 4)
    assert [key for key, _, _ in columns()] == list(WALK[:4])
    asked(bench, WALK[4])


def test_an_answer_lost_before_the_tab_was_closed_stores_the_figure_once(bench: Page) -> None:
    def lose(route: object) -> None:
        route.fetch()  # type: ignore[attr-defined]  # it reaches the server; the answer does not come back
        route.abort()  # type: ignore[attr-defined]

    context = bench.context
    bench.route("**/readings/", lose)
    type_walk(bench, WALK[:1])
    for _ in range(100):
        if Reading.objects.exists():
            break
        bench.wait_for_timeout(50)
    bench.unroute_all(behavior="wait")
    assert (Reading.objects.count(), waiting_in(bench)) == (1, 1)
    bench.close()
    again = context.new_page()
    again.goto("/bench/")
    stored(again, 1)
    assert (Reading.objects.count(), waiting_in(again)) == (1, 0)


def test_a_figure_refused_after_the_connection_came_back_is_not_lost(bench: Page, piece: Piece) -> None:
    """Somebody finished the sitting while this browser was cut off."""
    type_walk(bench, WALK[:1])
    stored(bench, 1)
    bench.context.set_offline(True)
    type_walk(bench, WALK[1:2])
    says_waiting(bench, 1)
    Inspection.objects.update(finished_at="2026-03-02T12:00:00Z")
    bench.context.set_offline(False)
    bench.locator(".bench-refused", has_text="was finished meanwhile").wait_for()
    assert waiting_in(bench) == 1
    assert bench.locator("#reading").input_value() == "", "typing it again would meet the same refusal"
    bench.get_by_role("button", name="Store it in a new sitting").click()
    stored(bench, 2)
    assert Inspection.objects.filter(piece=piece).count() == 2


# --- a server that goes away -----------------------------------------------------------------------------

LAY = """
import django; django.setup()
from tests.factories import make_piece, make_user
make_user("inspector", username="ana")
print(make_piece().label)
"""


@contextmanager
def served(folder: ShopFolder, port: int) -> Iterator[None]:
    """The shop on a real port until the block ends; a power cut, not a good-bye."""
    log = folder.data / "server.log"
    with log.open("a") as said:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"],
            cwd=folder.root,
            env=folder.environment | {"DEBUG": "1"},
            stdout=said,
            stderr=subprocess.STDOUT,
        )
    try:
        yield
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait(timeout=20)


def go(page: Page, address: str) -> None:
    """Open a page as soon as the server answers."""
    deadline = time.monotonic() + 40
    while True:
        try:
            page.goto(address)
        except Error:
            assert time.monotonic() < deadline
            page.wait_for_timeout(200)
        else:
            return


def test_a_server_restarted_in_between_stores_every_figure_once(
    chromium: Browser, shop_folder: ShopFolder
) -> None:
    label = re.findall("P[0-9]{6}", shop_folder.run("-c", LAY))[-1]
    port = free_port()
    context = chromium.new_context(base_url=f"http://127.0.0.1:{port}")
    context.set_default_timeout(20_000)
    page = context.new_page()
    with served(shop_folder, port):
        go(page, f"/bench/{label}/")
        page.get_by_label("Name").first.fill("ana")
        page.get_by_label("Password").fill(PASSWORD)
        page.keyboard.press("Enter")
        page.locator("#reading:focus").wait_for()
        type_walk(page, WALK[:2])
        asked(page, WALK[2])
        page.wait_for_function("!Object.keys(localStorage).some((name) => name.startsWith('bench-entry:'))")
    type_walk(page, WALK[2:])
    says_waiting(page, 4)
    with served(shop_folder, port):
        page.get_by_role("button", name="Finish and judge").wait_for(timeout=60_000)
        assert waiting_in(page) == 0
    context.close()
    rows = shop_folder.rows(
        "SELECT p.code || '-' || r.side, r.typed FROM inventory_reading r "
        "JOIN inventory_measurepoint p ON p.id = r.point_id ORDER BY r.id"
    )
    assert rows == [(key, NOMINAL[key[:2]]) for key in WALK]
