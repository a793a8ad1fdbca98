"""Bars drawn as SVG: a value on its stretch of tape, and shares of a whole.

Positions are percentages, so a bar is as wide as its place while its lettering keeps its size. The
limits always stand at a quarter and three quarters of the width: bars of different points line up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from inventory.calc.length import Display, Unit, nm_per_unit, show, show_uncertainty
from inventory.templatetags.shapes import MARK_SHAPES, VERDICT_SHAPES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

_MM: Final = 1_000_000
_METRIC_TICKS: Final = tuple(step * _MM for step in (1, 2, 5, 10, 20, 50, 100))
_MOST_TICKS: Final = 48


@dataclass(frozen=True, slots=True)
class Scale:
    """Limits, guard band and nominal in nm, and where on the bar (in percent) a length lies."""

    lower_nm: int
    upper_nm: int
    guard_nm: int = 0
    nominal_nm: int | None = None

    @property
    def start_nm(self) -> int:
        return self.lower_nm - self._margin_nm

    @property
    def end_nm(self) -> int:
        return self.upper_nm + self._margin_nm

    @property
    def _margin_nm(self) -> int:
        return max((self.upper_nm - self.lower_nm) // 2, 1)

    def percent(self, nm: int) -> float:
        """The place of a length, clamped to the bar's ends."""
        share = 100 * (nm - self.start_nm) / (self.end_nm - self.start_nm)
        return round(min(max(share, 0.0), 100.0), 2)

    def off_the_bar(self, nm: int) -> bool:
        return not self.start_nm <= nm <= self.end_nm

    def close_zones(self) -> list[tuple[float, float]]:
        """Where a value is too close to call: around each limit, joined when they meet."""
        if self.guard_nm <= 0:
            return []
        around = [(limit - self.guard_nm, limit + self.guard_nm) for limit in (self.lower_nm, self.upper_nm)]
        if around[0][1] >= around[1][0]:
            around = [(around[0][0], around[1][1])]
        return [(self.percent(start), self.percent(end)) for start, end in around]


def tolerance_bar(
    scale: Scale, *, value_nm: int | None, verdict: str, word: str, display: Display, small: bool
) -> SafeString:
    """The bar as an SVG image with its meaning in words."""
    height = 24 if small else 78
    return format_html(
        '<svg class="tolbar{}" width="100%" height="{}" role="img" aria-label="{}">{}{}{}</svg>',
        " tolbar-small" if small else "",
        height,
        spoken(scale, value_nm=value_nm, word=word, display=display),
        _tape(scale, display=display, top=6 if small else 30, height=12 if small else 24, ticks=not small),
        SafeString("") if small else _labels(scale, display=display),
        SafeString("")
        if value_nm is None
        else _marker(scale, value_nm, verdict=verdict, display=display, small=small),
    )


def spoken(scale: Scale, *, value_nm: int | None, word: str, display: Display) -> str:
    """The bar in one sentence."""
    limits = f"limits {show(scale.lower_nm, display, with_unit=False)} to {show(scale.upper_nm, display)}"
    parts = [limits]
    if value_nm is not None:
        parts.insert(0, f"{show(value_nm, display)}{f', {word}' if word else ''}")
    if scale.nominal_nm is not None:
        parts.append(f"nominal {show(scale.nominal_nm, display)}")
        if value_nm is not None:
            parts.append(f"deviation {show(value_nm - scale.nominal_nm, display, signed=True)}")
    if scale.guard_nm > 0:
        parts.append(f"too close to call within {show_uncertainty(scale.guard_nm, display)} of a limit")
    return "; ".join(parts)


def share_bar(counts: Mapping[str, int], *, spoken: str) -> SafeString:
    """Counts by verdict as stretches of one bar; hatching and gaps keep them apart without colour."""
    whole = sum(counts.values())
    stretches, start = [], 0.0
    for code, count in counts.items():
        if count:
            width = round(100 * count / whole, 3)
            stretches.append((code, f"{start:.3f}%", f"{width}%"))
            start += width
    return format_html(
        '<svg class="share-bar" width="100%" height="18" role="img" aria-label="{}">{}</svg>',
        spoken,
        format_html_join(
            "",
            '<svg x="{1}" width="{2}" height="18"><g class="share-{0}">{3}</g></svg>',
            ((code, x, width, _FILLS[code]) for code, x, width in stretches),
        ),
    )


_FULL: Final = '<rect class="share-ground" width="100%" height="18"/>'
_FILLS: Final = {
    "in": SafeString(_FULL),
    "close": SafeString(
        _FULL + '<line class="share-hatch" x2="100%" y1="9" y2="9" stroke-width="18" stroke-dasharray="2 5"/>'
    ),
    "out": SafeString(
        _FULL + '<line class="share-hatch" x2="100%" y1="9" y2="9" stroke-width="6" stroke-dasharray="6 4"/>'
    ),
    "none": SafeString('<rect class="share-ground" x="1" y="1" width="100%" height="16"/>'),
}


# The tape and its figures hang on the point and the size only, so the next piece of a batch has the same.
@lru_cache(maxsize=1024)
def _tape(scale: Scale, *, display: Display, top: int, height: int, ticks: bool) -> SafeString:
    bottom = top + height
    band = height // 2 if ticks else height  # the tape's marks stay free below the hatching
    middle = top + band / 2
    lower, upper = scale.percent(scale.lower_nm), scale.percent(scale.upper_nm)
    zones = format_html_join(
        "",
        '<line class="tolbar-close-ground" x1="{0}%" x2="{1}%" y1="{2}" y2="{2}" stroke-width="{3}"/>'
        '<line class="tolbar-close" x1="{0}%" x2="{1}%" y1="{2}" y2="{2}" stroke-width="{3}"'
        ' stroke-dasharray="1 4"/>',
        ((start, end, middle, band) for start, end in scale.close_zones()),
    )
    marks = format_html_join(
        "",
        '<line class="tolbar-tick" x1="{0}%" x2="{0}%" y1="{1}" y2="{2}"/>',
        ((place, bottom - long, bottom) for place, long in (_ticks(scale, display) if ticks else ())),
    )
    limits = format_html_join(
        "",
        '<line class="tolbar-limit" x1="{0}%" x2="{0}%" y1="{1}" y2="{2}"/>',
        ((place, top - 3, bottom + 3) for place in (lower, upper)),
    )
    nominal = SafeString("")
    if scale.nominal_nm is not None:
        nominal = format_html(
            '<line class="tolbar-nominal" x1="{0}%" x2="{0}%" y1="{1}" y2="{2}"/>',
            scale.percent(scale.nominal_nm),
            top,
            bottom,
        )
    return format_html(
        '<rect class="tolbar-tape" x="0" y="{0}" width="100%" height="{1}"/>'
        '<rect class="tolbar-in" x="{2}%" y="{0}" width="{3}%" height="{1}"/>{4}{5}{6}{7}',
        top,
        height,
        lower,
        round(upper - lower, 2),
        zones,
        marks,
        nominal,
        limits,
    )


def _ticks(scale: Scale, display: Display) -> Iterator[tuple[float, int]]:
    """Marks at whole steps of the tape itself, every fifth (for inches every fourth) longer."""
    if display.unit == Unit.INCH:
        inch = nm_per_unit()[Unit.INCH]
        steps, longer = tuple(inch // part for part in (16, 8, 4, 2, 1)), 4
    else:
        steps, longer = _METRIC_TICKS, 5
    span = scale.end_nm - scale.start_nm
    coarse = steps[-1] * -(-span // (steps[-1] * _MOST_TICKS))  # for a stretch no garment has
    step = next((s for s in steps if span // s <= _MOST_TICKS), coarse)
    for number in range(-(-scale.start_nm // step), scale.end_nm // step + 1):
        yield scale.percent(number * step), 10 if number % longer == 0 else 5


@lru_cache(maxsize=1024)
def _labels(scale: Scale, *, display: Display) -> SafeString:
    places = [scale.lower_nm, scale.upper_nm]
    if scale.nominal_nm is not None:
        places.insert(1, scale.nominal_nm)
    return format_html_join(
        "",
        '<text class="tolbar-label" x="{}%" y="73" text-anchor="middle">{}</text>',
        ((scale.percent(nm), show(nm, display, with_unit=False)) for nm in places),
    )


def _marker(scale: Scale, value_nm: int, *, verdict: str, display: Display, small: bool) -> SafeString:
    """The verdict's shape above the value, a plumb line to the tape, an arrow when it lies off the bar."""
    place = scale.percent(value_nm)
    if small:
        return format_html(
            '<svg x="{}%" overflow="visible"><g class="verdict-{}"><path class="tolbar-plumb" d="M0 2V22"/>'
            '<g class="tolbar-shape" transform="translate(-8 4)">{}</g></g></svg>',
            place,
            verdict,
            SafeString(MARK_SHAPES[verdict]),
        )
    right = place > 50
    figure = show(
        value_nm if scale.nominal_nm is None else value_nm - scale.nominal_nm,
        display,
        signed=scale.nominal_nm is not None,
    )
    if scale.off_the_bar(value_nm):
        figure = f"{figure} →" if right else f"← {figure}"
    return format_html(
        '<svg x="{0}%" overflow="visible"><g class="verdict-{1}"><path class="tolbar-plumb" d="M0 20V58"/>'
        '<g class="tolbar-shape" transform="translate(-9 1) scale(1.125)">{2}</g>'
        '<text class="tolbar-value" x="{3}" y="16" text-anchor="{4}">{5}</text></g></svg>',
        place,
        verdict,
        SafeString(VERDICT_SHAPES[verdict]),
        -16 if right else 16,
        "end" if right else "start",
        figure,
    )
