"""The whole job, by people in a browser, on the program as `deploy/start` starts it: from nothing to paper.

An owner begins with an empty shop and sets it up; an inspector receives a parcel and measures three pieces,
one as ordered, one too wide, one that wears the label of another size; the owner decides; the sheets are
printed by the job runner and read back.
"""

from __future__ import annotations

import io
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

from tests.conftest import ROOT
from tests.shop_qc.test_serve import free_port

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

# Size 24, in the order of the walk.
AS_ORDERED = {"WA": "355", "CF": "305"}
TOO_WIDE = {"WA": "390", "CF": "305"}
SIZE_26 = {"WA": "380", "CF": "310"}
# The answer to a figure may put a question or a repeat in place of the next step.
SETTLES_MS = 700
PASSWORD = "stitch-in-time-9"


@dataclass(frozen=True)
class Shop:
    """A started tool: where it answers and how its first owner signs in."""

    address: str
    owner: str
    password: str


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """Start an empty shop, and end it; what it told is shown when it does not come up."""
    log = tmp_path / "start.log"
    port = str(free_port())
    settings = {"DEMO": "0", "DATA_DIR": str(tmp_path / "data"), "STATIC_DIR": str(tmp_path / "static")}
    with log.open("w") as told:
        started = subprocess.Popen(
            [ROOT / "deploy" / "start"],
            cwd=ROOT,
            env={"PATH": _path(), "HOME": str(tmp_path), "PORT": port, **settings},
            stdin=subprocess.DEVNULL,
            stdout=told,
            stderr=subprocess.STDOUT,
        )
    try:
        deadline = time.monotonic() + 300  # the machine may be busy with other tests
        while "Ready:" not in log.read_text():
            assert started.poll() is None, log.read_text()
            assert time.monotonic() < deadline, log.read_text()
            time.sleep(0.2)
        printed = re.search(r"Sign in as '(\w+)', password '([\w-]+)'", log.read_text())
        assert printed is not None, log.read_text()
        yield Shop(f"http://127.0.0.1:{port}", printed[1], printed[2])
    finally:
        started.send_signal(signal.SIGTERM)
        assert started.wait(timeout=30) == 0
    assert "Traceback" not in log.read_text()


def _path() -> str:
    """The interpreter of this run first, so that the same Python is found."""
    return f"{Path(sys.executable).parent}:/usr/local/bin:/usr/bin:/bin"


@pytest.fixture
def page(chromium: Browser, shop: Shop) -> Iterator[Page]:  # instead of the live server's
    context = chromium.new_context(base_url=shop.address, viewport={"width": 1280, "height": 900})
    context.set_default_timeout(60_000)  # the machine may be busy with other tests
    yield context.new_page()
    context.close()


def test_from_an_empty_shop_to_sheets_on_paper(page: Page, shop: Shop) -> None:
    _sign_in(page, shop.owner, shop.password)
    assert page.get_by_role("heading", name="Before the first parcel").is_visible()
    _set_up(page)
    _let_in_an_inspector(page)
    _sign_out(page)

    _sign_in(page, "ines", PASSWORD)
    first = _receive_three_pieces(page)
    verdicts = [
        _measure(page, first + place, figures)
        for place, figures in enumerate((AS_ORDERED, TOO_WIDE, SIZE_26))
    ]
    assert "in tolerance" in verdicts[0]
    assert "out of tolerance" in verdicts[1]
    assert "Wrong size suspected. It fits size 26" in verdicts[2]
    _sign_out(page)

    _sign_in(page, shop.owner, shop.password)
    _decide(page, first, "Release")
    _decide(page, first + 1, "Return", reason="waist 35 mm over", sure="Return it")
    _decide(page, first + 2, "Re-label", size="26")
    text = _sheets_of_the_batch(page)
    for words in ("P000001", "P000002", "P000003", "out of tolerance", "Elm", "Northgate"):
        assert words in text
    page.goto("/")
    page.get_by_text("1 re-labelled piece to measure again").click()
    page.get_by_role("link", name="measure again").first.click()
    assert "in tolerance" in _read_and_finish(page, SIZE_26)
    page.goto("/")
    assert page.get_by_text("Nothing waits. Every piece is decided.").is_visible()


def _sign_in(page: Page, name: str, password: str) -> None:
    page.goto("/sign-in/")
    page.locator("[name=username]").fill(name)
    page.locator("[name=password]").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="What to do now").wait_for()


def _sign_out(page: Page) -> None:
    page.goto("/")
    page.locator(".user-menu summary").click()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_role("heading", name="Sign in").wait_for()


def _set_up(page: Page) -> None:
    """A maker, a tape, a style of two points, and its spec in force; every step from the link offered."""
    main = page.get_by_role("main")
    main.get_by_role("link", name="Enter a maker").click()
    main.get_by_role("link", name="Enter a maker").first.click()
    page.get_by_label("Code").fill("northgate")
    page.get_by_label("Name", exact=True).fill("Northgate Sewing")
    page.get_by_label("Notice window").fill("14")
    page.get_by_role("button", name="Enter the maker").click()

    page.goto("/")
    main.get_by_role("link", name="Number your tapes and rules").click()
    main.get_by_role("link", name="Number an instrument").first.click()
    page.get_by_label("Number").fill("T1")
    page.get_by_role("main").get_by_role("button").first.click()

    page.goto("/")
    main.get_by_role("link", name="Set up a style").click()
    main.get_by_role("link", name="Start a style").first.click()
    page.get_by_role("link", name="Laced, underbust").click()
    page.get_by_label("Code").fill("elm")
    page.get_by_label("Name", exact=True).fill("Elm")
    for box in page.locator('input[name="point_codes"]').all():
        box.set_checked(box.get_attribute("value") in AS_ORDERED)
    page.get_by_role("button", name="Start the style").click()
    page.get_by_role("link", name="Draft the spec").click()
    page.get_by_label("Size run").fill("22, 24, 26")
    page.get_by_label("Base size", exact=True).fill("24")
    for code, step in (("WA", "25"), ("CF", "5")):
        page.get_by_label(f"{code}, base size").fill(AS_ORDERED[code])
        page.get_by_label(f"{code}, grade step").fill(step)
    page.get_by_role("button", name="Draft the spec").click()
    page.get_by_role("button", name="Save and look at the sheet").click()
    page.get_by_role("link", name="Put in force").click()
    page.get_by_role("button", name="Put in force").click()
    page.get_by_role("heading", name="Elm: spec, revision 1").wait_for()


def _let_in_an_inspector(page: Page) -> None:
    page.goto("/people/")
    page.get_by_role("link", name="Add a person").click()
    page.get_by_label("Signs in as").fill("ines")
    page.get_by_label("First name").fill("Ines")
    page.get_by_label("Role").select_option("inspector")
    page.get_by_label("First password").fill(PASSWORD)
    page.get_by_role("button", name="Add the person").click()
    page.get_by_role("main").get_by_text("ines", exact=True).wait_for()


def _receive_three_pieces(page: Page) -> int:
    """The number of the first."""
    page.get_by_role("link", name="Receive a delivery").first.click()
    page.get_by_label("Maker").select_option(index=1)
    page.get_by_label("Order reference").fill("TR-1")
    page.get_by_role("button", name="Receive the delivery").click()
    page.get_by_role("link", name="Add a batch").first.click()
    page.get_by_label("Style").select_option(index=1)
    page.get_by_label("Pieces announced").fill("3")
    page.get_by_role("button", name="Add the batch").click()
    page.get_by_label("Colour").first.fill("ivory")
    page.get_by_label("Size 24").first.fill("3")
    page.get_by_role("button", name="Number the pieces").click()
    numbered = page.get_by_text("Numbered P").inner_text()
    found = re.search(r"P(\d+) to P(\d+)", numbered)
    assert found is not None, numbered
    return int(found[1])


def _measure(page: Page, number: int, figures: Mapping[str, str]) -> str:
    """Read what the bench asks for until it asks for nothing, keeping a figure in doubt; the verdict."""
    page.goto("/bench/")
    page.locator("#q").fill(f"P{number:06d}")
    page.keyboard.press("Enter")
    return _read_and_finish(page, figures)


def _read_and_finish(page: Page, figures: Mapping[str, str]) -> str:
    """What the bench asks for, from the first reading to the verdict."""
    page.locator("#reading:focus").wait_for()
    for _ in range(40):
        asked = page.locator("#bench").get_attribute("data-ask")
        if asked == "finish":
            break
        step = page.locator("#bench").get_attribute("data-step") or ""
        with page.expect_response(lambda answer: answer.url.endswith("/readings/")):
            page.keyboard.type("k" if asked == "question" else figures[step[:2]])  # a K is sent by itself
            page.keyboard.press("Enter")
        page.wait_for_timeout(SETTLES_MS)
    page.get_by_role("button", name="Finish and judge").click()
    page.locator(".bench-verdict").wait_for()
    return page.locator(".bench-verdict").inner_text()


def _decide(
    page: Page, number: int, decision: str, *, reason: str = "", size: str = "", sure: str = ""
) -> None:
    page.goto(f"/pieces/P{number:06d}/")
    page.get_by_role("link", name="Decide").click()
    page.get_by_label(f"{decision}:").check()
    page.get_by_role("textbox", name="Reason").fill(reason)
    if size:
        page.locator("[name=new_size_label]").select_option(size)
    page.get_by_role("button", name="Decide").click()
    if sure:
        page.get_by_role("button", name=sure).click()
    expect(page.get_by_role("main")).to_contain_text(f"P{number:06d}: ", timeout=30_000)


def _sheets_of_the_batch(page: Page) -> str:
    """Ask for the batch's inspection sheets, wait for the runner, download them; their whole text."""
    page.goto("/batches/")
    page.get_by_role("link", name="B0001").first.click()
    page.get_by_role("link", name="Inspection sheets").click()
    page.get_by_role("button", name="Make the document").click()
    link = page.get_by_role("link", name="Open the PDF")
    link.wait_for(timeout=60_000)  # the page looks by itself until the runner is done
    answer = page.request.get(link.get_attribute("href") or "")
    assert answer.headers["content-type"] == "application/pdf"
    reader = PdfReader(io.BytesIO(answer.body()))
    return " ".join(sheet.extract_text() for sheet in reader.pages)
