"""Verdicts and dispositions on a page: always a word, a shape of its own and a colour."""

from __future__ import annotations

import re
from itertools import combinations

import pytest
from django.template import Context, engines

from inventory.calc.conformity import Verdict
from inventory.calc.length import Display, Unit
from inventory.models.pieces import Standing
from inventory.models.verdicts import VerdictCode
from inventory.templatetags import shapes
from inventory.templatetags.verdicts import DISPOSITION_WORDS, VERDICT_WORDS, UnknownCode

MM = 1_000_000
CODES = [*(str(code) for code in Verdict), None]


def render(source: str, **context: object) -> str:
    template = engines["django"].from_string("{% load verdicts %}" + source)
    return str(template.template.render(Context(context)))  # type: ignore[attr-defined]  # Django's own backend


def heard(html: str) -> str:
    """What a screen reader reads out: the text, and labels of images, without what is hidden from it."""
    without_hidden = re.sub(r'<svg[^>]*aria-hidden="true".*?</svg>', "", html, flags=re.DOTALL)
    labels = " ".join(re.findall(r'aria-label="([^"]*)"', without_hidden))
    return " ".join((labels + " " + re.sub(r"<[^>]+>", " ", without_hidden)).split())


def drawn(html: str) -> str:
    found = re.search(r"<svg[^>]*>(.*?)</svg>", html, flags=re.DOTALL)
    assert found is not None, html
    return found[1]


@pytest.mark.parametrize("size", ["small", "normal", "large"])
@pytest.mark.parametrize("code", CODES)
def test_every_verdict_has_a_word_a_shape_and_a_colour_in_every_size(code: str | None, size: str) -> None:
    html = render("{% verdict code size=size %}", code=code, size=size)
    assert heard(html) == VERDICT_WORDS[code or "none"]
    assert f"verdict-{code or 'none'}" in html
    assert "<path" in drawn(html) or "<circle" in drawn(html)


def test_the_words_are_those_of_the_records() -> None:
    assert {code: VERDICT_WORDS[code] for code in VerdictCode.values} == dict(VerdictCode.choices)
    assert set(DISPOSITION_WORDS) == set(Standing.values)
    assert set(shapes.DISPOSITION_SHAPES) == set(Standing.values)


@pytest.mark.parametrize("drawings", [shapes.VERDICT_SHAPES, shapes.MARK_SHAPES])
def test_outlines_differ_and_the_colour_comes_from_the_text_around(drawings: dict[str, str]) -> None:
    for one, other in combinations(drawings.values(), 2):
        assert one != other
    for drawing in filter(None, drawings.values()):
        assert "currentColor" in drawing
        assert "#" not in drawing


def test_the_verdict_of_a_choice_field_and_of_the_calculation_are_understood() -> None:
    assert render("{% verdict code %}", code=Verdict.OUT) == render("{% verdict 'out' %}")
    assert render("{% verdict code %}", code=VerdictCode.OUT) == render("{% verdict 'out' %}")
    assert "not judged yet" in render("{% verdict nowhere %}")


def test_a_wrong_code_or_size_is_named_with_the_choices() -> None:
    with pytest.raises(UnknownCode, match=r"'pass' is no verdict\. Use one of: in, close, out, none"):
        render("{% verdict 'pass' %}")
    with pytest.raises(UnknownCode, match="'burn' is no disposition"):
        render("{% disposition 'burn' %}")
    with pytest.raises(UnknownCode, match="'huge' is no size"):
        render("{% verdict 'in' size='huge' %}")


def test_a_mark_in_a_crowded_table_is_heard_in_full() -> None:
    html = render("{% verdict_mark 'close' %}")
    assert 'class="visually-hidden">too close to call' in html
    assert heard(html) == "too close to call"


@pytest.mark.parametrize("standing", Standing.values)
def test_every_disposition_has_a_word_and_a_drawing(standing: str) -> None:
    html = render("{% disposition standing %}", standing=Standing(standing))
    assert heard(html) == DISPOSITION_WORDS[standing]
    assert f"disposition-{standing}" in html
    assert drawn(html) == shapes.DISPOSITION_SHAPES[standing]


def bar(value: int | None, *, lower: int = 324, upper: int = 336, guard: int = 1, **more: object) -> str:
    source = "{% tolerance_bar lower upper value guard=guard nominal=nominal verdict=verdict size=size %}"
    context: dict[str, object] = {
        "lower": lower * MM,
        "upper": upper * MM,
        "value": None if value is None else value * MM,
        "guard": guard * MM,
        "nominal": 330 * MM,
        "verdict": "in",
        "size": "normal",
    }
    return render(source, **(context | more))


def place_of_marker(html: str) -> str:
    found = re.search(r'<svg x="([\d.]+)%"', html)
    assert found is not None, html
    return found[1]


def test_a_bar_says_in_words_what_it_shows() -> None:
    assert heard(bar(332)).startswith(
        "332 mm, in tolerance; limits 324 to 336 mm; nominal 330 mm; deviation +2.0 mm; "
        "too close to call within 1.0 mm of a limit"
    )


def test_a_bar_speaks_the_unit_of_the_shop() -> None:
    html = bar(332, display=Display(Unit.INCH, 16))
    assert "limits 12 3/4 to 13 1/4 in" in html
    assert " mm" not in heard(html)


@pytest.mark.parametrize(
    ("value", "place"), [(324, "25.0"), (336, "75.0"), (330, "50.0"), (318, "0.0"), (342, "100.0")]
)
def test_limits_stand_at_a_quarter_and_three_quarters_of_every_bar(value: int, place: str) -> None:
    assert place_of_marker(bar(value)) == place
    assert place_of_marker(bar(value, size="small")) == place


def test_a_value_beyond_the_bar_is_kept_at_its_end_with_an_arrow_pointing_out() -> None:
    far_over, far_under = bar(500, verdict="out"), bar(100, verdict="out")
    assert place_of_marker(far_over) == "100.0"
    assert "+170.0 mm →" in far_over
    assert place_of_marker(far_under) == "0.0"
    assert "← −230.0 mm" in far_under
    assert "→" not in bar(341) + bar(342)


def zones(html: str) -> list[tuple[str, str]]:
    return re.findall(r'class="tolbar-close" x1="([\d.]+)%" x2="([\d.]+)%"', html)


def test_guard_bands_lie_on_both_sides_of_each_limit() -> None:
    assert zones(bar(330, guard=3)) == [("12.5", "37.5"), ("62.5", "87.5")]
    assert zones(bar(330, guard=0)) == []


def test_guard_bands_that_meet_are_drawn_as_one() -> None:
    assert zones(bar(330, guard=6)) == [("0.0", "100.0")]


def test_without_a_value_the_bar_shows_the_limits_alone() -> None:
    html = bar(None, verdict=None)
    assert "<svg x=" not in html
    assert heard(html).startswith("limits 324 to 336 mm; nominal 330 mm")
    assert "deviation" not in html


def test_limits_that_coincide_still_draw() -> None:
    assert place_of_marker(bar(330, lower=330, upper=330, guard=0)) == "50.0"


@pytest.mark.parametrize("display", [Display(Unit.MM), Display(Unit.CM), Display(Unit.INCH, 8)])
@pytest.mark.parametrize("width_mm", [1, 12, 400, 5000])
def test_a_tape_of_any_length_has_a_readable_number_of_marks(display: Display, width_mm: int) -> None:
    html = bar(330, lower=330 - width_mm, upper=330 + width_mm, display=display)
    assert html.count("tolbar-tick") <= 49


def cell(code: str | None, deviation: float | None, **more: object) -> str:
    nm = None if deviation is None else round(deviation * MM)
    return render("{% heat_cell code nm minus plus %}", code=code, nm=nm, minus=3 * MM, plus=6 * MM, **more)


@pytest.mark.parametrize(
    ("deviation", "tint"),
    [
        (0, ""),
        (2, ""),
        (2.1, "over-1"),
        (4.1, "over-2"),
        (6, "over-2"),
        (6.1, "over-3"),
        (-1, ""),
        (-1.1, "under-1"),
        (-3, "under-2"),
        (-3.1, "under-3"),
    ],
)
def test_a_cell_is_tinted_by_the_share_of_its_own_side_s_tolerance(deviation: float, tint: str) -> None:
    classes = f"in {tint}".strip()
    assert f'<td class="{classes}">' in cell("in", deviation)


def test_a_cell_says_verdict_and_signed_deviation() -> None:
    assert heard(cell("out", 6.5)) == "out +6.5"
    assert heard(cell("close", -0.25, display=Display(Unit.CM))) == "too close −0.02"


def test_a_cell_is_short_because_a_map_has_ten_thousand_of_them() -> None:
    longest = cell("close", -20.1, aspect="F", display=Display(Unit.INCH, 64))
    assert len(longest.encode()) <= 70


def test_a_cell_without_a_reading_says_so() -> None:
    assert heard(cell(None, None)) == "– not measured"


def test_shares_add_up_to_the_whole_bar_and_are_read_out() -> None:
    html = render("{% verdict_share 5 2 1 2 %}")
    assert 'aria-label="5 in tolerance, 2 too close to call, 1 out of tolerance, 2 not judged yet"' in html
    stretches = re.findall(r'<svg x="([\d.]+)%" width="([\d.]+)%"', html)
    assert [(float(start), float(width)) for start, width in stretches] == [
        (0, 50),
        (50, 20),
        (70, 10),
        (80, 20),
    ]
    assert "0 out of tolerance" in render("{% verdict_share 5 0 0 %}")
    assert "not judged" not in render("{% verdict_share 5 0 0 %}")


def test_shares_of_an_empty_batch_draw_an_empty_bar() -> None:
    assert 'aria-label="0 in tolerance' in render("{% verdict_share 0 0 0 0 %}")


def test_nothing_that_was_given_reaches_the_page_unescaped() -> None:
    with pytest.raises(UnknownCode):
        render("{% verdict code %}", code='"><script>')
    for html in (bar(332), cell("in", 1), render("{% verdict 'in' %}{% disposition 'hold' %}")):
        assert "style=" not in html
        assert "<script" not in html
