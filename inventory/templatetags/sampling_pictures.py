"""The operating curve as SVG: chance of passing (upwards) by number of bad pieces (to the right).

The same figures stand in a table below the picture, which is for the eye only.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from django import template
from django.utils.html import format_html, format_html_join

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.utils.safestring import SafeString

    from inventory.queries.sampling.figures import CurveOf

register = template.Library()

_WIDTH, _HEIGHT = 640, 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 56, 16, 14, 46
_STEPS: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)


@register.filter
def times_in_100(chance: float) -> str:
    """A chance as so many times in 100; what is not sure is never shown as sure.

    >>> times_in_100(0.298), times_in_100(0.9999), times_in_100(0.0001), times_in_100(1.0)
    ('30', '> 99', '< 1', '100')
    """
    shown = 100 * chance
    if chance > 0.0 and shown < 0.5:
        return "< 1"
    if chance < 1.0 and shown >= 99.5:
        return "> 99"
    return f"{shown:.0f}"


@register.filter
def figure_of(share: Decimal | None) -> str:
    """A share or AQL as agreed, in per cent, without the noughts the database adds.

    >>> figure_of(Decimal("2.500")), figure_of(Decimal("10.000")), figure_of(None)
    ('2.5', '10', '–')
    """
    return "–" if share is None else f"{share.normalize():f}"


@register.filter
def in_percent(share: float) -> str:
    """A share of a batch in per cent.

    >>> in_percent(0.0332)
    '3.32 %'
    """
    return f"{100 * share:.3g} %"


@register.simple_tag
def operating_curve(curves: Sequence[CurveOf], batch_size: int) -> SafeString:
    """The curves of a plan's classes in one picture."""
    most = max((curve.points[-1].bad for curve in curves), default=1) or 1
    return format_html(
        '<svg class="op-curve" viewBox="0 0 {} {}" role="img" aria-label="{}">{}{}{}</svg>',
        _WIDTH,
        _HEIGHT,
        f"Chance that the batch of {batch_size} passes, falling from 100 in 100 with none bad as more pieces "
        "are bad. The table gives the figures.",
        _frame(most),
        format_html_join("", "{}", ((_curve(curve, place, most),) for place, curve in enumerate(curves))),
        _words(),
    )


def _x(bad: float, most: int) -> float:
    return round(_LEFT + (_WIDTH - _LEFT - _RIGHT) * bad / most, 2)


def _y(chance: float) -> float:
    return round(_TOP + (_HEIGHT - _TOP - _BOTTOM) * (1 - chance), 2)


def _frame(most: int) -> SafeString:
    across = format_html_join(
        "",
        '<line class="op-grid" x1="{}" x2="{}" y1="{}" y2="{}"/><text class="op-tick" x="{}" y="{}" '
        'text-anchor="end">{}</text>',
        (
            (_LEFT, _WIDTH - _RIGHT, _y(share), _y(share), _LEFT - 8, _y(share) + 4, f"{100 * share:.0f}")
            for share in (0.0, 0.25, 0.5, 0.75, 1.0)
        ),
    )
    step = next((step for step in _STEPS if most / step <= 10), most)
    up = format_html_join(
        "",
        '<text class="op-tick" x="{}" y="{}" text-anchor="middle">{}</text>',
        ((_x(bad, most), _HEIGHT - _BOTTOM + 18, bad) for bad in range(0, most + 1, step)),
    )
    return across + up


def _curve(curve: CurveOf, place: int, most: int) -> SafeString:
    line = " ".join(f"{_x(one.bad, most)},{_y(one.chance)}" for one in curve.points)
    last = curve.points[len(curve.points) // 2]
    ends = [curve.good] if curve.poor is None else [curve.good, curve.poor]
    marks = format_html_join(
        "",
        '<circle class="op-risk" cx="{}" cy="{}" r="5"/>',
        ((_x(one.bad, most), _y(one.chance)) for one in ends if one.bad <= most),
    )
    return format_html(
        '<polyline class="op-line op-line-{}" points="{}"/>{}<text class="op-name" x="{}" y="{}">{}</text>',
        place + 1,
        line,
        marks,
        _x(last.bad, most) + 8,
        _y(last.chance) - 6,
        curve.name,
    )


def _words() -> SafeString:
    return format_html(
        '<text class="op-tick" x="{}" y="{}" text-anchor="end">bad pieces in the batch</text>'
        '<text class="op-tick" x="{}" y="{}">up: passes, times in 100</text>',
        _WIDTH - _RIGHT,
        _HEIGHT - 6,
        _LEFT,
        _HEIGHT - 6,
    )
