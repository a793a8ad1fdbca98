"""How a page is looked at in a real browser: at the widths and in the lights people use, and by axe-core.

A screen's test needs one line: `assert faults_in_every_look(page) == []`; `found_by_axe(page)` is the quick
look at the page as it stands, for a menu opened or an error shown.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from axe_playwright_python.base import AXE_SCRIPT  # type: ignore[import-untyped]  # it has no types

if TYPE_CHECKING:
    from collections.abc import Sequence

    from playwright.sync_api import Page

WIDTHS = (360, 820, 1440, 1920)
LOOKED_AT_CLOSELY = (360, 1440)
WCAG = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
RULES = (*WCAG, "best-practice")
# What the light can change; everything else has been seen by daylight at the same width.
RULES_OF_COLOUR = ("color-contrast", "link-in-text-block")


def found_by_axe(page: Page, *, rules: Sequence[str] = RULES) -> list[str]:
    """What axe-core holds against the page as it stands, one line each; empty when there is nothing."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    answer: dict[str, Any] = page.evaluate(  # Any: axe's own JSON
        "rules => axe.run({runOnly: rules, resultTypes: ['violations']})", list(rules)
    )
    return [
        f"{violation['id']}: {violation['help']} – {node['html'][:200]}"
        for violation in answer["violations"]
        for node in violation["nodes"]
    ]


def cut_off(page: Page) -> list[str]:
    """Says so when the page is wider than its window and has to be pushed sideways."""
    wide, window = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    return [f"the page is {wide} px wide in a window of {window} px"] if wide > window else []


def faults_in_every_look(page: Page, *, rules: Sequence[str] = RULES) -> list[str]:
    """Everything wrong by daylight on a phone and a desk; by lamplight whatever depends on colour.

    At every width, whether something is cut off: between the two the layout changes only in its columns.
    """
    faults = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        faults += [f"{width} px: {fault}" for fault in cut_off(page)]
        if width in LOOKED_AT_CLOSELY:
            page.emulate_media(color_scheme="light")
            faults += [f"{width} px, light: {fault}" for fault in found_by_axe(page, rules=rules)]
            page.emulate_media(color_scheme="dark")
            faults += [f"{width} px, dark: {fault}" for fault in found_by_axe(page, rules=RULES_OF_COLOUR)]
    page.emulate_media(color_scheme="light")
    return faults
