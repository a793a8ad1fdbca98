"""How a page is looked at in a real browser: at the widths and in the lights people use, and by axe-core.

A screen's test needs one line: `assert faults_in_every_look(page) == []`; `found_by_axe(page)` is the quick
look at the page as it stands, for a menu opened or an error shown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]  # it has no types

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playwright.sync_api import Page

WIDTHS = (360, 820, 1440, 1920)
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
# What the light can change; everything else has been seen by daylight at the same width.
RULES_OF_COLOUR = ("color-contrast", "link-in-text-block")


def found_by_axe(page: Page, *, rules: Sequence[str] = RULES) -> list[str]:
    """What axe-core holds against the page as it stands, one line each; empty when there is nothing."""
    answer: dict[str, Any] = Axe().run(page, options={"runOnly": list(rules)}).response  # Any: axe's own JSON
    return [
        f"{violation['id']}: {violation['help']} – {node['html'][:200]}"
        for violation in answer["violations"]
        for node in violation["nodes"]
    ]


def cut_off(page: Page) -> list[str]:
    """Says so when the page is wider than its window and has to be pushed sideways."""
    wide, window = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    return [f"the page is {wide} px wide in a window of {window} px"] if wide > window else []


def faults_in_every_look(page: Page) -> list[str]:
    """Everything wrong at any width, by daylight; then by lamplight whatever depends on colour."""
    faults = []
    page.emulate_media(color_scheme="light")
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        faults += [f"{width} px, light: {fault}" for fault in found_by_axe(page) + cut_off(page)]
    page.emulate_media(color_scheme="dark")
    for width in (WIDTHS[0], WIDTHS[-1]):
        page.set_viewport_size({"width": width, "height": 900})
        faults += [f"{width} px, dark: {fault}" for fault in found_by_axe(page, rules=RULES_OF_COLOUR)]
    return faults
