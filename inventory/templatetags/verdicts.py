"""The one place that turns a verdict or a disposition into a word, a shape and a colour.

{% load verdicts %}
{% verdict "in" %}  {% verdict finding.shelf size="large" %}  {% verdict None %}
{% verdict_mark code %}                      shape only, the word is still heard
{% disposition piece.standing %}
{% tolerance_bar lower upper value guard=… nominal=… verdict=code %}     all in whole nanometres
{% heat_cell code deviation_nm minus_nm plus_nm aspect="L" %}      a <td> of a heat map; aspect may be absent
{% verdict_share in_count close_count out_count todo_count %}
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from django import template
from django.template import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.calc.length import show
from inventory.templatetags import bars, shapes
from inventory.templatetags.lengths import display_of

if TYPE_CHECKING:
    from collections.abc import Iterable

register = template.Library()

VERDICT_WORDS: Final = {
    "in": "in tolerance",
    "close": "too close to call",
    "out": "out of tolerance",
    "none": "not judged yet",
}
DISPOSITION_WORDS: Final = {
    "hold": "on hold",
    "release": "released",
    "concession": "released by concession",
    "second": "second",
    "relabel": "re-labelled",
    "rework": "in rework",
    "return": "returned",
    "scrap": "scrapped",
}
# What is heard in a cell of a map: said 10,000 times, so short; the map's caption says what each stands for.
_HEARD: Final = {"in": "in", "close": "too close", "out": "out", "none": "not judged"}
_SIZES: Final = ("small", "normal", "large")
_ASPECT_WORDS: Final = {
    code: format_html("<i>{}</i> ", word)
    for code, word in (("L", "L"), ("R", "R"), ("F", "full"), ("D", "L−R"))
}


class UnknownCode(ValueError):
    """A template asked for a verdict, disposition or size that does not exist."""

    def __init__(self, thing: str, code: object, known: Iterable[str]) -> None:
        super().__init__(f"{code!r} is no {thing}. Use one of: {', '.join(known)}.")


@register.simple_tag
def verdict(code: str | None, size: str = "normal") -> SafeString:
    """Shape and word of a verdict; None or an empty text is "not judged yet"."""
    known = _verdict_code(code)
    if size not in _SIZES:
        raise UnknownCode("size", size, _SIZES)
    return format_html(
        '<span class="verdict verdict-{} verdict-{}">{}<span class="verdict-word">{}</span></span>',
        known,
        size,
        _drawing("shape", shapes.VERDICT_SHAPES[known]),
        VERDICT_WORDS[known],
    )


@register.simple_tag
def verdict_word(code: str | None) -> str:
    """Only the word, for a title, a label or a plain text."""
    return VERDICT_WORDS[_verdict_code(code)]


@register.simple_tag
def verdict_mark(code: str | None) -> SafeString:
    """The bare outline for a crowded table; the word is there for those who listen."""
    known = _verdict_code(code)
    return format_html(
        '<span class="verdict-mark verdict-{}">{}<span class="visually-hidden">{}</span></span>',
        known,
        _drawing("mark", shapes.MARK_SHAPES[known]),
        VERDICT_WORDS[known],
    )


@register.simple_tag
def disposition(code: str) -> SafeString:
    """Shape and word of what is done with a piece."""
    if code not in DISPOSITION_WORDS:
        raise UnknownCode("disposition", code, DISPOSITION_WORDS)
    return format_html(
        '<span class="disposition disposition-{}">{}{}</span>',
        str(code),
        _drawing("shape", shapes.DISPOSITION_SHAPES[code]),
        DISPOSITION_WORDS[code],
    )


@register.simple_tag(takes_context=True)
def tolerance_bar(
    context: Context,
    lower: int,
    upper: int,
    value: int | None = None,
    *,
    guard: int = 0,
    nominal: int | None = None,
    verdict: str | None = None,
    size: str = "normal",
) -> SafeString:
    """A value against its limits, with the guard bands in which it is too close to call; nanometres."""
    if size not in _SIZES:
        raise UnknownCode("size", size, _SIZES)
    return bars.tolerance_bar(
        bars.Scale(lower_nm=lower, upper_nm=upper, guard_nm=guard, nominal_nm=nominal),
        value_nm=value,
        verdict=_verdict_code(verdict),
        word=VERDICT_WORDS[_verdict_code(verdict)] if verdict else "",
        display=display_of(context),
        small=size == "small",
    )


@register.simple_tag(takes_context=True)
def heat_cell(
    context: Context,
    code: str | None,
    deviation_nm: int | None,
    minus_nm: int,
    plus_nm: int,
    *,
    aspect: str = "",
) -> SafeString:
    """One cell of a heat map: mark by verdict, tint by the share of the tolerance used up; nanometres.

    `aspect` is what the figure is of: "L", "R", "F" for the full girth, "D" for left minus right. The style
    sheet draws the mark and hides the <b> from the eye: a map of 10,000 cells has no room for more in each.
    """
    if deviation_nm is None:
        return SafeString('<td class="none">–<b> not measured</b></td>')
    known = _verdict_code(code)
    return format_html(
        '<td class="{}{}"><b>{} </b>{}{}</td>',
        known,
        _tint(deviation_nm, minus_nm=minus_nm, plus_nm=plus_nm),
        _HEARD[known],
        _ASPECT_WORDS.get(aspect, ""),
        show(deviation_nm, display_of(context), signed=True, with_unit=False),
    )


@register.simple_tag
def verdict_share(in_count: int, close_count: int, out_count: int, todo_count: int = 0) -> SafeString:
    """How many of each verdict, as one bar; the counts are its text alternative."""
    counts = {"in": in_count, "close": close_count, "out": out_count, "none": todo_count}
    spoken = ", ".join(
        f"{count} {VERDICT_WORDS[code]}" for code, count in counts.items() if count or code != "none"
    )
    return bars.share_bar(counts, spoken=spoken)


def _verdict_code(code: str | None) -> str:
    known = str(code) if code else "none"
    if known not in VERDICT_WORDS:
        raise UnknownCode("verdict", code, VERDICT_WORDS)
    return known


def _drawing(css_class: str, shape: str) -> SafeString:
    return format_html(
        '<svg class="{}" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">{}</svg>',
        css_class,
        SafeString(shape),
    )


def _tint(deviation_nm: int, *, minus_nm: int, plus_nm: int) -> str:
    """Three steps: up to a third of the allowance, up to two thirds, beyond; the first third has no tint."""
    allowance = plus_nm if deviation_nm > 0 else minus_nm
    side = "over" if deviation_nm > 0 else "under"
    used = abs(deviation_nm)
    if used * 3 <= allowance:
        return ""
    if used * 3 <= 2 * allowance:
        return f" {side}-1"
    return f" {side}-2" if used <= allowance else f" {side}-3"
