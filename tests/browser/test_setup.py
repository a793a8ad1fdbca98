"""The set-up screens in a real browser: accessible in every width and light, whole by keyboard alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from inventory.models import Spec, User
from inventory.models.people import Role
from tests.browser.seeing import faults_in_every_look
from tests.factories import make_spec, make_style, make_user

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SignIn = Callable[[User], "Page"]


def test_a_grid_with_errors_is_accessible_and_leads_to_each_box(sign_in: SignIn) -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    page = sign_in(make_user(Role.OWNER))
    page.goto(reverse("spec-edit", args=[spec.pk]), timeout=30_000)
    page.get_by_label("WA, size 24", exact=True).fill("35 5")
    page.get_by_label("WA, size 24", exact=True).press("Enter")
    summary = page.get_by_role("alert")
    assert "Nothing was saved" in summary.inner_text()
    summary.get_by_role("link", name="WA, size 24").click()
    focused = page.evaluate("document.activeElement.getAttribute('aria-label')")
    assert focused == "WA, size 24"
    assert page.get_by_label("WA, size 24", exact=True).input_value() == "35 5"
    assert faults_in_every_look(page) == []


def test_the_grid_is_walked_and_saved_by_keyboard_alone(sign_in: SignIn) -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    page = sign_in(make_user(Role.OWNER))
    page.set_viewport_size({"width": 360, "height": 800})
    page.goto(reverse("spec-edit", args=[spec.pk]), timeout=30_000)
    page.get_by_role("region", name="Nominals, as read, by size").focus()
    seen = []
    for _ in range(8):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => {
                const box = document.activeElement, place = box.getBoundingClientRect();
                const clear = document.elementFromPoint(place.left + place.width / 2,
                                                        place.top + place.height / 2) === box;
                return [box.getAttribute("aria-label"), clear];
            }"""
        )
        assert at[1], f"{at[0]} has the focus and lies under something else"
        seen.append(at[0])
    assert seen[:5] == ["UB, grade step", "UB, size 22", "UB, size 24", "UB, size 26", "WA, grade step"]
    page.get_by_label("WA, size 22", exact=True).fill("13 1/2 in")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=are saved")
    cell = spec.spec_points.get(point__code="WA").cells.get(size__label="22")
    assert cell.nominal_nm == 342_900_000
    assert page.get_by_label("WA, size 22", exact=True).input_value() == "342.9"


def test_from_nothing_to_a_spec_in_force_without_a_script(
    chromium: Browser, live_server: LiveServer, sign_in: SignIn
) -> None:
    cookies = sign_in(make_user(Role.OWNER)).context.cookies()
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.set_default_timeout(15_000)
    context.add_cookies(cookies)  # type: ignore[arg-type]  # what one context gives the other takes
    page = context.new_page()
    page.goto(reverse("styles"))
    page.get_by_role("main").get_by_role("link", name="Start a style").first.click()
    page.get_by_role("link", name="Laced, underbust").click()
    page.get_by_label("Code").fill("elm")
    page.get_by_label("Name").fill("Elm")
    for code in ("LE", "PS", "SS", "CB"):
        page.locator(f'input[name="point_codes"][value="{code}"]').uncheck()
    page.get_by_role("button", name="Start the style").click()
    page.get_by_role("button", name="Move WA up").click()
    page.get_by_role("link", name="Draft the spec").click()
    page.get_by_label("Unit of record").select_option("in")
    page.get_by_label("Size run").fill("22, 24, 26")
    page.get_by_label("Base size", exact=True).fill("24")
    for code, base, step in (("WA", "13 1/2", "1"), ("UB", "15", "1"), ("HH", "17", "1"), ("CF", "12", "0")):
        page.get_by_label(f"{code}, base size").fill(base)
        page.get_by_label(f"{code}, grade step").fill(step)
    page.get_by_role("button", name="Draft the spec").click()
    assert page.get_by_label("WA, size 26").input_value() == "14 1/2"
    page.get_by_role("button", name="Save and look at the sheet").click()
    page.get_by_role("link", name="Put in force").click()
    page.get_by_role("button", name="Put in force").click()
    assert page.get_by_role("heading", name="Elm: spec, revision 1").is_visible()
    context.close()
    spec = Spec.objects.get(state=Spec.State.IN_FORCE)
    assert [point.code for point in spec.style.points.all()] == ["WA", "UB", "HH", "CF"]
    assert spec.spec_points.get(point__code="WA").grade_step_nm == 25_400_000


def test_a_point_under_the_pointer_or_focus_is_marked_in_the_drawing(sign_in: SignIn) -> None:
    make_style(code="elm")
    page = sign_in(make_user(Role.OWNER))
    page.goto(reverse("style", args=["elm"]), timeout=30_000)
    place = page.locator('svg.drawing .pom[data-point="WA"]')
    assert "is-active" not in (place.get_attribute("class") or "")
    page.locator("#point-WA td").first.hover()
    assert "is-active" in (place.get_attribute("class") or "")
    page.locator("#point-UB td").first.hover()
    assert "is-active" not in (place.get_attribute("class") or "")
    page.get_by_role("link", name="WA", exact=True).focus()
    assert "is-active" in (place.get_attribute("class") or "")


def test_the_graded_spec_prints_whole_on_landscape_paper(sign_in: SignIn) -> None:
    spec = make_spec(sizes=tuple(str(size) for size in range(18, 38, 2)))
    page = sign_in(make_user(Role.VIEWER))
    page.goto(reverse("spec", args=[spec.pk]), timeout=30_000)
    page.emulate_media(media="print")
    page.set_viewport_size(
        {"width": 1009, "height": 680}
    )  # A4 landscape within the margins, at 96 px an inch
    sheet = page.locator(".spec-table")
    box = sheet.bounding_box()
    assert box is not None
    assert box["width"] <= 1009
    assert page.get_by_role("link", name="Revise").count() == 0
