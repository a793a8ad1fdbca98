"""What a person does at the bench's box, and what the browser and the database hold after it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory.models import Reading

if TYPE_CHECKING:
    from playwright.sync_api import Page

# Size 24 in the order of the walk: half underbust, half waist, centre front; left, then right.
WALK = ("UB-L", "WA-L", "CF-L", "UB-R", "WA-R", "CF-R")
NOMINAL = {"UB": "405", "WA": "355", "CF": "305"}


def open_bench(page: Page, label: str) -> None:
    """Open a piece at the bench and wait for its box."""
    page.goto(f"/bench/{label}/", timeout=20_000)  # the first page of a run loads every view and template
    page.locator("#reading:focus").wait_for()


def asked(page: Page, key: str) -> None:
    """Wait until the step is asked."""
    page.locator(f'#bench[data-step="{key}"] [data-step="{key}"]:visible').wait_for()


def enter(page: Page, typed: str) -> None:
    page.keyboard.type(typed)
    page.keyboard.press("Enter")


def stored(page: Page, count: int) -> None:
    """Wait until the server has so many readings and the browser none."""
    for _ in range(100):
        if Reading.objects.count() >= count and not waiting_in(page):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"{Reading.objects.count()} readings stored, {waiting_in(page)} waiting; {count} expected")


def waiting_in(page: Page) -> int:
    found = page.evaluate(
        "Object.keys(localStorage).filter((name) => name.startsWith('bench-entry:')).length"
    )
    return int(found)


def columns() -> list[tuple[str, str, str]]:
    rows = Reading.objects.select_related("point").order_by("pk")
    return [(f"{row.point.code}-{row.side}", row.typed, row.taken_by.username) for row in rows]
