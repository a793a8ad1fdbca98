"""Figures one after another as a picture: where they were to be expected, and which were not.

    {% load run_chart %}
    {% run_chart chart %}       chart: a RunChart of queries.own.run_charts

Colours come from css/drift.css. A table beside the picture says the same in words and figures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.calc.length import show

if TYPE_CHECKING:
    from inventory.calc.length import Display
    from inventory.queries.own.run_charts import RunChart

register = template.Library()

WIDTH: Final = 360
HEIGHT: Final = 170
_LEFT, _RIGHT, _TOP, _BOTTOM = 74, 10, 14, 26


@register.filter
def per_metre(ppm: float) -> str:
    """A stretch in millionths as mm per metre, with its sign.

    >>> per_metre(-10_000.0), per_metre(0.0)
    ('−10.0', '+0.0')
    """
    return f"{ppm / 1000:+.1f}".replace("-", "\N{MINUS SIGN}")


@register.filter
def whole_length(nm: float | Literal[""] | None, display: Display) -> str:
    """A computed length as figures are shown; a dash where there is none."""
    return "–" if nm is None or nm == "" else show(round(nm), display)


@register.filter
def whole_deviation(nm: float, display: Display) -> str:
    """A computed difference with its sign."""
    return show(round(nm), display, signed=True)


@register.simple_tag(takes_context=True)
def run_chart(context: template.Context, chart: RunChart) -> SafeString:
    """The chart as an SVG image."""
    return drawn(chart, context["display"])


def drawn(chart: RunChart, display: Display) -> SafeString:
    """The same outside a template."""
    return format_html(
        '<svg class="run-chart" viewBox="0 0 {} {}" role="img" aria-label="{}">{}{}{}{}</svg>',
        WIDTH,
        HEIGHT,
        _spoken(chart, display),
        _limits(chart, display),
        _line(chart),
        _spots(chart),
        _days(chart),
    )


def _spoken(chart: RunChart, display: Display) -> str:
    said = f"{chart.title}: {len(chart.spots)} figures"
    if chart.spots:
        said += f", the last {show(round(chart.spots[-1].value_nm), display, signed=chart.signed)}"
    signals = sum(spot.signals for spot in chart.spots)
    return f"{said}; {signals} outside what was to be expected" if signals else said


def _x(chart: RunChart, number: int) -> float:
    room = WIDTH - _LEFT - _RIGHT
    return round(_LEFT + room * (number + 0.5) / max(len(chart.spots), 1), 1)


def _y(chart: RunChart, nm: float) -> float:
    low, high = chart.reach
    return round(_TOP + (HEIGHT - _TOP - _BOTTOM) * (high - nm) / (high - low), 1)


def _limits(chart: RunChart, display: Display) -> SafeString:
    rows = [
        (name, _y(chart, nm), show(round(nm), display, signed=chart.signed))
        for name, nm in (("upper", chart.upper_nm), ("centre", chart.centre_nm), ("lower", chart.lower_nm))
        if nm is not None
    ]
    band = SafeString("")
    if chart.lower_nm is not None and chart.upper_nm is not None:
        top = _y(chart, chart.upper_nm)
        band = format_html(
            '<rect class="run-band" x="{}" y="{}" width="{}" height="{}"/>',
            _LEFT,
            top,
            WIDTH - _LEFT - _RIGHT,
            round(_y(chart, chart.lower_nm) - top, 1),
        )
    lines = format_html_join(
        "",
        '<line class="run-{0}" x1="{1}" x2="{2}" y1="{3}" y2="{3}"/>'
        '<text class="run-figure" x="{4}" y="{5}" text-anchor="end">{6}</text>',
        ((name, _LEFT, WIDTH - _RIGHT, y, _LEFT - 5, y + 4, words) for name, y, words in rows),
    )
    return band + lines


def _line(chart: RunChart) -> SafeString:
    points = " ".join(f"{_x(chart, n)},{_y(chart, spot.value_nm)}" for n, spot in enumerate(chart.spots))
    return format_html('<polyline class="run-line" points="{}"/>', points)


def _spots(chart: RunChart) -> SafeString:
    drawn_spots = []
    for number, spot in enumerate(chart.spots):
        x, y = _x(chart, number), _y(chart, spot.value_nm)
        if spot.signals:
            shape = format_html('<path class="run-signal" d="M{} {}l6 6-6 6-6-6z"/>', x, y - 6)
        else:
            kind = "run-baseline" if spot.baseline else "run-spot"
            shape = format_html('<circle class="{}" cx="{}" cy="{}" r="3.5"/>', kind, x, y)
        drawn_spots.append(shape)
    return SafeString("".join(drawn_spots))


def _days(chart: RunChart) -> SafeString:
    if not chart.spots:
        return SafeString("")
    first, last = chart.spots[0].label, chart.spots[-1].label
    ends = [("start", _LEFT, first)] + ([("end", WIDTH - _RIGHT, last)] if len(chart.spots) > 1 else [])
    return format_html_join(
        "",
        '<text class="run-figure" x="{1}" y="{2}" text-anchor="{0}">{3}</text>',
        ((anchor, x, HEIGHT - 6, words) for anchor, x, words in ends),
    )
