"""Mean deviations drawn as SVG: one row a line, a shape at each mean, a whisker for its doubt.

Positions are percentages, so a picture is as wide as its place while its lettering keeps its size. What is
seen is said in the table beside it, too. Shapes differ in outline, not in colour alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.calc.length import show

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from inventory.calc.length import Display
    from inventory.queries.causes.shifts import Shift, ShiftLine

GUTTER: Final = 24
"""Percent of the width for the names on the left."""

_ROOM: Final = 100 - GUTTER - 4
_ROW: Final = 34
_HEAD: Final = 22
_LEAST_REACH_NM: Final = 2_000_000
_LONGEST_NAME: Final = 11
_FULL: Final = '<circle r="5"/>'
_HOLLOW: Final = '<path d="M-4.5 -4.5h9v9h-9Z"/>'
SHAPES: Final = {
    "L": ("full", _FULL),
    "R": ("hollow", _HOLLOW),
    "S": ("full", '<path d="M0 -6.5 6.5 0 0 6.5 -6.5 0Z"/>'),
    "all": ("full", _FULL),
    "girths": ("full", _FULL),
    "lengths": ("hollow", _HOLLOW),
}


def shift_picture(lines: Sequence[ShiftLine], *, title: str, display: Display) -> SafeString:
    """The lines on one scale, nominal in the middle; nothing without a line."""
    if not lines:
        return SafeString("")
    reach = _reach(lines)
    height = _HEAD + _ROW * len(lines) + 4
    return format_html(
        '<svg class="shifts" width="100%" height="{}" role="img" aria-label="{}">{}{}</svg>',
        height,
        title,
        _scale(reach, height=height, display=display),
        _joined(_line(line, top=_HEAD + _ROW * place, reach=reach) for place, line in enumerate(lines)),
    )


def mark_in_the_key(mark: str) -> SafeString:
    """One shape by itself; its word stands beside it."""
    look, shape = SHAPES[mark]
    return format_html(
        '<svg class="shift-key" width="16" height="16" viewBox="-8 -8 16 16" aria-hidden="true">'
        '<g class="shift-{}">{}</g></svg>',
        look,
        SafeString(shape),
    )


def _joined(parts: Iterable[SafeString]) -> SafeString:
    return format_html_join("", "{}", ((part,) for part in parts))


def _reach(lines: Sequence[ShiftLine]) -> float:
    """The largest deviation that must find room (nm)."""
    ends = (abs(shift.mean_nm) + (shift.doubt_nm or 0.0) for line in lines for shift in line.shifts.values())
    return max(*ends, float(_LEAST_REACH_NM), 0.0)


def _percent(nm: float, reach: float) -> float:
    return round(GUTTER + _ROOM * (nm + reach) / (2 * reach), 2)


def _scale(reach: float, *, height: int, display: Display) -> SafeString:
    """Nominal as a line, and the two ends in figures."""
    places = ((-reach, "start"), (0.0, "middle"), (reach, "end"))
    words = format_html_join(
        "",
        '<text class="shift-scale" x="{}%" y="14" text-anchor="{}">{}</text>',
        ((_percent(nm, reach), anchor, show(round(nm), display, signed=True)) for nm, anchor in places),
    )
    middle = _percent(0.0, reach)
    return format_html(
        '{}<line class="shift-nominal" x1="{}%" x2="{}%" y1="{}" y2="{}"/>', words, middle, middle, 18, height
    )


def _line(line: ShiftLine, *, top: int, reach: float) -> SafeString:
    name = line.name if len(line.name) <= _LONGEST_NAME else f"{line.name[: _LONGEST_NAME - 1]}…"
    return format_html(
        '<line class="shift-row" x1="0" x2="100%" y1="{}" y2="{}"/>'
        '<text class="shift-name" x="0" y="{}">{}</text>{}',
        top,
        top,
        top + 22,
        name,
        _joined(_marks(line, top=top, reach=reach)),
    )


def _marks(line: ShiftLine, *, top: int, reach: float) -> Iterator[SafeString]:
    count = len(line.shifts)
    for place, (mark, shift) in enumerate(line.shifts.items()):
        yield _mark(mark, shift, y=top + round(_ROW * (place + 1) / (count + 1)), reach=reach)


def _mark(mark: str, shift: Shift, *, y: int, reach: float) -> SafeString:
    look, shape = SHAPES[mark]
    doubt = shift.doubt_nm or 0.0
    return format_html(
        '<line class="shift-doubt" x1="{}%" x2="{}%" y1="{}" y2="{}"/>'
        '<svg x="{}%" y="{}" overflow="visible"><g class="shift-{}">{}</g></svg>',
        _percent(shift.mean_nm - doubt, reach),
        _percent(shift.mean_nm + doubt, reach),
        y,
        y,
        _percent(shift.mean_nm, reach),
        y,
        look,
        SafeString(shape),
    )
