"""Every component of the look in a real browser: accessible in every width and light, and without colour."""

from __future__ import annotations

import io
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from django import forms
from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import include, path
from PIL import Image, ImageChops, ImageStat

from inventory.models import User
from inventory.models.people import Role
from inventory.models.pieces import Standing
from inventory.templatetags import shapes
from tests.browser.seeing import WIDTHS, faults_in_every_look, found_by_axe
from tests.factories import make_user

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.urls(__name__)]

SAMPLE = (Path(__file__).parent / "sample.html").read_text(encoding="utf-8")


class Wrong(forms.Form):
    name = forms.CharField(help_text="As it stands on the parcel.")
    maker = forms.ChoiceField(choices=[("1", "A workshop")])
    arrived = forms.DateTimeField(widget=forms.DateTimeInput(attrs={"type": "datetime-local"}))
    basis = forms.ChoiceField(
        choices=[("half", "each half"), ("full", "the girth")], widget=forms.RadioSelect
    )
    counted = forms.BooleanField(help_text="All cartons.")
    note = forms.CharField(required=False, widget=forms.Textarea)
    sheet = forms.FileField(required=False)


class Filter(forms.Form):
    words = forms.CharField(
        label="Piece or batch", required=False, widget=forms.TextInput(attrs={"size": 14})
    )
    days = forms.IntegerField(label="Days back", required=False)


def sample(request: HttpRequest) -> HttpResponse:
    context = {
        "kinds": ["success", "info", "warning", "error"],
        "codes": ["in", "close", "out", None],
        "deviations": [None, *(share * 1_000_000 for share in (-7, -5, -3, 0, 3, 5, 7))],
        "standings": Standing.values,
        "form": Wrong({}),
        "filter": Filter(),
        "page": Paginator(range(90), 10).page(2),
    }
    return HttpResponse(engines["django"].from_string(SAMPLE).render(context, request))


urlpatterns = [path("sample/", sample), path("", include(settings.ROOT_URLCONF))]


@pytest.fixture
def sample_page(sign_in: Callable[[User], Page]) -> Page:
    page = sign_in(make_user(Role.OWNER))
    page.goto("/sample/", timeout=30_000)  # the first page of a run loads every screen of the project
    assert page.title().startswith("Sample")
    return page


def test_every_component_is_accessible_in_every_width_and_light(sample_page: Page) -> None:
    assert faults_in_every_look(sample_page) == []


def test_the_sign_in_page_is_accessible_in_every_width_and_light(page: Page) -> None:
    page.goto("/sign-in/")
    assert page.get_by_role("heading", name="Sign in").is_visible()
    assert faults_in_every_look(page) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_navigation_and_sign_out_are_reached_without_script_at_every_width(
    sample_page: Page, width: int
) -> None:
    sample_page.set_viewport_size({"width": width, "height": 900})
    menu = sample_page.locator("summary:visible")
    assert menu.count() == 1
    menu.click()
    assert sample_page.get_by_role("navigation", name="Main").count() == 1
    assert sample_page.get_by_role("button", name="Sign out").count() == 1
    sample_page.get_by_role("button", name="Sign out").click()
    assert sample_page.get_by_role("heading", name="Sign in").is_visible()


def test_the_first_tab_leads_past_the_navigation(sample_page: Page) -> None:
    sample_page.keyboard.press("Tab")
    link = sample_page.get_by_role("link", name="Skip to the content")
    assert link.evaluate("link => link === document.activeElement && link.getBoundingClientRect().top >= 0")
    sample_page.keyboard.press("Enter")
    assert sample_page.evaluate("document.activeElement.id") == "content"


def test_whatever_has_the_focus_shows_it(sample_page: Page) -> None:
    for _ in range(60):
        sample_page.keyboard.press("Tab")
        ring = sample_page.evaluate(
            """() => {
                const at = document.activeElement;
                const shown = at.closest(".bench-frame") ?? at;
                const style = getComputedStyle(shown);
                return [at.outerHTML.slice(0, 80), style.outlineStyle, parseFloat(style.outlineWidth)];
            }"""
        )
        assert ring[1] == "solid", ring
        assert ring[2] >= 3, ring


@pytest.mark.parametrize("width", WIDTHS)
def test_targets_are_large_enough_for_a_finger_and_at_the_bench_for_a_knuckle(
    sample_page: Page, width: int
) -> None:
    sample_page.set_viewport_size({"width": width, "height": 900})
    sample_page.evaluate("document.body.classList.add('bench')")
    heights = sample_page.evaluate(
        """() => [...document.querySelectorAll(".bench-grid :is(a, button, input)")]
                 .map(target => target.getBoundingClientRect().height)"""
    )
    assert len(heights) >= 6
    assert min(heights) >= 44


def test_at_twice_the_letter_size_nothing_is_cut_off(sample_page: Page) -> None:
    # A window of 1280 px at 200 % zoom has 640 px for the page: WCAG 2.2, criterion 1.4.10.
    sample_page.set_viewport_size({"width": 640, "height": 450})
    sample_page.evaluate("document.documentElement.style.fontSize = '212.5%'")
    assert sample_page.evaluate("document.documentElement.scrollWidth") <= 640
    assert found_by_axe(sample_page) == []


def test_on_paper_there_is_no_navigation_and_no_colour(sample_page: Page) -> None:
    sample_page.emulate_media(media="print", color_scheme="dark")
    assert not sample_page.get_by_role("navigation").first.is_visible()
    assert not sample_page.get_by_role("button", name="Save").is_visible()
    colours = sample_page.evaluate(
        """() => [...new Set([...document.querySelectorAll(".page *")]
                 .filter(e => e.checkVisibility() && e.textContent.trim())
                 .map(e => getComputedStyle(e).color))]"""
    )
    greys = [tuple(colour[colour.index("(") + 1 : -1].split(", ")) for colour in colours]
    assert all(red == green == blue for red, green, blue in greys), colours


def picture(page: Page, drawing: str, *, side: int) -> Image.Image:
    page.set_content(
        f'<body style="margin:0"><svg viewBox="0 0 16 16" width="{side}" height="{side}">{drawing}</svg>'
    )
    shot = page.screenshot(clip={"x": 0, "y": 0, "width": side, "height": side})
    return Image.open(io.BytesIO(shot)).convert("L")


@pytest.mark.parametrize(
    ("drawings", "side"),
    [(shapes.VERDICT_SHAPES, 16), (shapes.MARK_SHAPES, 11), (shapes.DISPOSITION_SHAPES, 16)],
    ids=["verdicts", "marks", "dispositions"],
)
def test_shapes_are_told_apart_in_black_and_white_at_their_smallest(
    page: Page, drawings: dict[str, str], side: int
) -> None:
    seen = {code: picture(page, drawing, side=side) for code, drawing in drawings.items()}
    alike = {
        (one, other): round(ImageStat.Stat(ImageChops.difference(seen[one], seen[other])).mean[0] / 255, 3)
        for one, other in combinations(seen, 2)
    }
    # A twelfth of the picture must differ; two renderings of one shape differ by nothing.
    assert {pair: share for pair, share in alike.items() if share < 1 / 12} == {}


def test_in_forced_colours_shapes_and_progress_remain(chromium: object, sample_page: Page) -> None:
    sample_page.emulate_media(forced_colors="active")
    for selector in (
        ".verdict-out .shape",
        ".disposition-hold .shape",
        "progress",
    ):
        shot = sample_page.locator(selector).first.screenshot()
        low, high = Image.open(io.BytesIO(shot)).convert("L").getextrema()
        assert isinstance(low, int | float)
        assert isinstance(high, int | float)
        assert high - low > 150, selector


def test_the_marks_of_the_map_are_told_apart_in_greyscale_and_in_forced_colours(sample_page: Page) -> None:
    for colours in ("none", "active"):
        sample_page.emulate_media(forced_colors=colours)
        seen = {code: _mark_of(sample_page, code) for code in ("in", "close", "out")}
        for code, mark in seen.items():
            low, high = mark.getextrema()
            assert isinstance(low, int | float)
            assert isinstance(high, int | float)
            assert high - low > 60, (colours, code)
        for one, other in combinations(seen, 2):
            differs = ImageStat.Stat(ImageChops.difference(seen[one], seen[other])).mean[0] / 255
            assert differs > 1 / 24, (colours, one, other)


def _mark_of(page: Page, code: str) -> Image.Image:
    """The left of a cell of the map, where its mark stands."""
    cell = page.locator(f".heat td.{code}").first
    cell.scroll_into_view_if_needed()
    box = cell.bounding_box()
    assert box is not None
    shot = page.screenshot(clip={"x": box["x"] + 5, "y": box["y"] + 5, "width": 16, "height": 20})
    return Image.open(io.BytesIO(shot)).convert("L")
