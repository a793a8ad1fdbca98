"""Pictures of a study, drawn as SVG strips: one row a piece or person, so they read on a phone as on a desk.

    {% load study_charts %}
    {% person_mark hand.place %}             the person's own shape
    {% dot_strip row hands reach_nm %}       readings of a piece, off its mean
    {% bias_strip row reach_nm %}            a person's mean with its limits
    {% range_strip row reach_nm %}           the ranges of a person's repeats
    {% deviation_of nm %}                    a computed deviation, as `deviation` shows one
    {% square_mm nm2 %}                      a variance in mm²

Every person has a shape of her own, so colour is never needed to tell them apart. The figures stand in the
table around each strip.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from django import template
from django.template import Context
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.calc.length import show, show_uncertainty
from inventory.templatetags.lengths import display_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.queries.own.study_pictures import BiasRow, DotRow, Hand, RangeRow

register = template.Library()

_LANE: Final = 14
_SHAPES: Final = (
    '<circle r="4.5"/>',
    '<rect x="-4" y="-4" width="8" height="8"/>',
    '<path d="M0 -5.5 5 4H-5Z"/>',
    '<path d="M0 -6 6 0 0 6 -6 0Z"/>',
    '<path d="M-5 0H5M0 -5V5"/>',
    '<path d="M-4.5 -4.5 4.5 4.5M-4.5 4.5 4.5 -4.5"/>',
)


@register.simple_tag
def person_mark(place: int) -> SafeString:
    """The shape of a person, for the legend."""
    return format_html(
        '<svg class="person-mark" width="16" height="16" viewBox="-8 -8 16 16" aria-hidden="true">{}</svg>',
        _shape(place),
    )


@register.simple_tag(takes_context=True)
def dot_strip(context: Context, row: DotRow, hands: Sequence[Hand], reach_nm: float) -> SafeString:
    """Every reading of one piece, left of the middle where it is shorter than the piece's mean."""
    display = display_of(context)
    dots = [
        (_place(off, reach_nm), _LANE * hand.place - _LANE // 2, _shape(hand.place))
        for hand, offs in zip(hands, row.offs_nm, strict=True)
        for off in offs
    ]
    spoken = "; ".join(
        f"{hand.name} {' and '.join(show(round(off), display, signed=True) for off in offs)}"
        for hand, offs in zip(hands, row.offs_nm, strict=True)
    )
    return _strip(f"{row.piece}, off its mean: {spoken}", height=_LANE * len(hands), inside=_marks(dots))


@register.simple_tag(takes_context=True)
def bias_strip(context: Context, row: BiasRow, reach_nm: float) -> SafeString:
    """A person's mean against that of all, with the stretch its limits leave open."""
    display = display_of(context)
    low, high = (_place(limit, reach_nm) for limit in (row.low_nm, row.high_nm))
    line = format_html('<line class="strip-limits" x1="{}%" x2="{}%" y1="13" y2="13"/>', low, high)
    ends = format_html_join(
        "", '<line class="strip-limits" x1="{0}%" x2="{0}%" y1="8" y2="18"/>', ((end,) for end in (low, high))
    )
    spoken = (
        f"{row.hand.name}: {show(round(row.bias_nm), display, signed=True)}, limits "
        f"{show(round(row.low_nm), display, signed=True)} to {show(round(row.high_nm), display, signed=True)}"
    )
    dot = _marks([(_place(row.bias_nm, reach_nm), 13, _shape(row.hand.place))])
    return _strip(spoken, height=26, inside=format_html("{}{}{}", line, ends, dot))


@register.simple_tag(takes_context=True)
def range_strip(context: Context, row: RangeRow, reach_nm: float) -> SafeString:
    """The range of a person's repeats at each piece, from none at the left, and their mean."""
    display = display_of(context)
    ticks = format_html_join(
        "",
        '<line class="strip-tick" x1="{0}%" x2="{0}%" y1="5" y2="21"/>',
        ((_from_left(one, reach_nm),) for one in row.ranges_nm),
    )
    mean = _marks([(_from_left(row.mean_nm, reach_nm), 13, _shape(row.hand.place))])
    spoken = (
        f"{row.hand.name}: mean range {show_uncertainty(row.mean_nm, display)}, "
        f"largest {show_uncertainty(row.largest_nm, display)} at {row.at}"
    )
    return _strip(spoken, height=26, inside=format_html("{}{}", ticks, mean), middle=False)


@register.simple_tag(takes_context=True)
def deviation_of(context: Context, nm: float) -> str:
    """A deviation that was computed, with its sign."""
    return show(round(nm), display_of(context), signed=True)


@register.simple_tag
def square_mm(nm2: float) -> str:
    """A variance or a sum of squares in mm², whatever the shop's unit: it is no length."""
    return f"{nm2 / 1e12:.3f}".replace("-", "−")


def _strip(spoken: str, *, height: int, inside: SafeString, middle: bool = True) -> SafeString:
    zero = "50%" if middle else "4%"
    return format_html(
        '<svg class="strip" width="100%" height="{}" role="img" aria-label="{}">'
        '<line class="strip-zero" x1="{}" x2="{}" y1="0" y2="100%"/>{}</svg>',
        height,
        spoken,
        zero,
        zero,
        inside,
    )


def _marks(dots: Sequence[tuple[float, int, SafeString]]) -> SafeString:
    return format_html_join("", '<svg x="{}%" y="{}" overflow="visible">{}</svg>', dots)


def _shape(place: int) -> SafeString:
    number = (place - 1) % len(_SHAPES)
    # Constants of this module, never what was typed.
    return format_html('<g class="person person-{}">{}</g>', number + 1, SafeString(_SHAPES[number]))


def _place(off_nm: float, reach_nm: float) -> float:
    return round(50 + 46 * off_nm / reach_nm, 2)


def _from_left(nm: float, reach_nm: float) -> float:
    return round(4 + 92 * nm / reach_nm, 2)
