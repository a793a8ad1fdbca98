"""Every colour pair the style sheets use can be read, by daylight and by lamplight.

Relative luminance and contrast ratio: W3C, Web Content Accessibility Guidelines 2.2, definitions "relative
luminance" and "contrast ratio"; 4.5:1 for text is criterion 1.4.3, 3:1 for graphics and control outlines
1.4.11. The bounds 21:1 (black on white) and 1:1 follow from the formula; #767676 on white, 4.54:1, is the
lightest grey that passes for text (from memory).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

STATIC = Path(__file__).resolve().parents[2] / "inventory" / "static" / "inventory"
TEMPLATES = Path(__file__).resolve().parents[2] / "inventory" / "templates" / "inventory"
TOKENS = (STATIC / "css" / "tokens.css").read_text(encoding="utf-8")
SHEETS = sorted((STATIC / "css").glob("*.css"))

PAPER = ("bench", "dot", "slip", "slip-sunk")
TINTS = ("in-tint", "close-tint", "out-tint", "info-tint", "warn-tint", "danger-tint", "brass-tint")
HEAT = ("under-1", "under-2", "under-3", "over-1", "over-2", "over-3", "slip-sunk")

TEXT: dict[str, tuple[str, ...]] = {
    "ink": (*PAPER, *TINTS, *HEAT),
    "ink-quiet": (*PAPER, *TINTS),
    "action": (*PAPER, *TINTS),
    "action-strong": (*PAPER, *TINTS),
    "on-action": ("action", "action-strong", "danger"),
    "on-cloth": ("cloth", "cloth-raised"),
    "on-cloth-quiet": ("cloth", "cloth-raised"),
    "tape-ink": ("tape",),
    "brass": ("bench", "slip", "slip-sunk", "brass-tint"),
    "in": (*PAPER, "in-tint", "brass-tint"),
    "close": (*PAPER, "close-tint", "brass-tint"),
    "out": (*PAPER, "out-tint", "brass-tint"),
    "danger": (*PAPER, "danger-tint"),
    "warn": (*PAPER, "warn-tint"),
    "info": (*PAPER, "info-tint"),
    "slip": ("ink", "ink-quiet", "brass"),
    "danger-tint": ("danger",),
}
GRAPHICS: dict[str, tuple[str, ...]] = {
    "edge": (*PAPER, "brass-tint"),
    "focus": (*PAPER, *TINTS),
    "focus-on-cloth": ("cloth", "cloth-raised"),
    "tape": ("cloth",),
    "brass": (*PAPER, "brass-tint"),
    "in": HEAT,
    "close": HEAT,
    "out": (*HEAT, "out-tint"),
    "action": ("slip", "slip-sunk"),
}
# Grounds and fine lines that nothing has to be told apart by.
UNPAIRED = {"line", "shade"}
NAMES = {
    name for sheet in SHEETS for name in re.findall(r"(--[\w-]+)\s*:", sheet.read_text(encoding="utf-8"))
}


def palette(css: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-fA-F]{6}|rgb\([^)]*\))", css))


_day, _, _night = TOKENS.partition("@media (prefers-color-scheme: dark)")
DAYLIGHT = palette(_day)
LAMPLIGHT = DAYLIGHT | palette(_night)


def luminance(colour: str) -> float:
    channels = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def too_faint(pairs: dict[str, tuple[str, ...]], colours: dict[str, str], *, least: float) -> list[str]:
    return [
        f"--{front} on --{ground}: {ratio:.2f}"
        for front, grounds in pairs.items()
        for ground in grounds
        if (ratio := contrast(colours[front], colours[ground])) < least
    ]


def test_the_formula_gives_the_known_ratios() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21, abs=1e-9)
    assert contrast("#4b5861", "#4b5861") == 1
    assert round(contrast("#767676", "#ffffff"), 2) == 4.54


@pytest.mark.parametrize("colours", [DAYLIGHT, LAMPLIGHT], ids=["daylight", "lamplight"])
def test_text_stands_out_from_its_ground(colours: dict[str, str]) -> None:
    assert too_faint(TEXT, colours, least=4.5) == []


@pytest.mark.parametrize("colours", [DAYLIGHT, LAMPLIGHT], ids=["daylight", "lamplight"])
def test_shapes_outlines_and_focus_rings_stand_out_from_their_ground(colours: dict[str, str]) -> None:
    assert too_faint(GRAPHICS, colours, least=3) == []


def test_every_colour_has_a_value_for_lamplight() -> None:
    assert set(palette(_night)) == set(DAYLIGHT)


def test_every_colour_is_in_a_pair_and_every_pair_is_of_known_colours() -> None:
    paired = {name for pairs in (TEXT, GRAPHICS) for front, on in pairs.items() for name in (front, *on)}
    assert paired == set(DAYLIGHT) - UNPAIRED


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_colours_are_named_in_one_file_only(sheet: Path) -> None:
    rules = re.sub(r"/\*.*?\*/", "", sheet.read_text(encoding="utf-8"), flags=re.DOTALL)
    if sheet.name not in {"tokens.css", "print.css"}:  # on paper the same names turn black and white
        assert re.findall(r"#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsla?\(", rules) == []
    assert set(re.findall(r"var\((--[\w-]+)", rules)) <= NAMES


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_style_sheets_fetch_nothing(sheet: Path) -> None:
    assert re.findall(r"url\(|@import|@font-face", sheet.read_text(encoding="utf-8")) == []


def test_every_style_sheet_is_linked_by_a_page() -> None:
    pages = "".join(page.read_text(encoding="utf-8") for page in TEMPLATES.parent.rglob("*.html"))
    assert set(re.findall(r"inventory/css/([\w-]+\.css)", pages)) == {sheet.name for sheet in SHEETS}


def test_the_browser_s_own_frame_takes_the_colour_of_the_cloth() -> None:
    base = (TEMPLATES / "base.html").read_text(encoding="utf-8")
    assert f'<meta name="theme-color" content="{DAYLIGHT["cloth"]}">' in base
