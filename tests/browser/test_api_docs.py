"""The API's description as a page, in a browser that reaches nothing but this machine."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from inventory.models import User
from inventory.models.people import Role
from tests.factories import make_user

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_every_request_is_described_on_a_page_that_needs_no_internet(
    page: Page, sign_in: Callable[[User], Page]
) -> None:
    sign_in(make_user(Role.VIEWER))
    failed: list[str] = []
    page.on("requestfailed", lambda request: failed.append(request.url))
    page.goto(
        "/api/v1/docs/", timeout=30_000, wait_until="commit"
    )  # the first page of a run loads every view
    # A megabyte and a half of script, unpacked and run: longer than what a page of ours may take.
    expect(page.get_by_text("/api/v1/inspections/{id}/readings/")).to_be_visible(timeout=30_000)
    assert failed == []
