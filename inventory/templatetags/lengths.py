"""Lengths in the shop's own display.

    {% load lengths %}
    {% length reading.length_nm %}       343 mm         {% length nm unit=False %}     343
    {% deviation finding_nm %}           +6.0 mm        {% deviation nm unit=False %}  +6.0
    {% uncertainty finding.u_nm %}       0.06 in        {% uncertainty nm unit=False %}  0.06
    {% length_within nm %}               1/16 in        rounded down: how far something holds
    {{ nm|shown:display }}  {{ nm|shown_deviation:display }}     the same, where a filter is needed
    {{ nm|shown_uncertainty:display }}

An uncertainty or a guard band is shown by its own tag: in decimals, rounded up, never as none.

There is no filter called `length`: Django's own of that name counts things, and must go on doing so.
Without a shop in the context lengths are shown in millimetres. None is shown as a dash.
"""

from __future__ import annotations

from typing import Any, Final

from django import template
from django.template import Context

from inventory.calc.length import Display, Unit, show, show_uncertainty, show_within

register = template.Library()

NOTHING: Final = "–"
MILLIMETRES: Final = Display(Unit.MM)


@register.simple_tag(takes_context=True)
def length(context: Context, nm: int | str | None, *, unit: bool = True) -> str:
    """A length in nanometres as the shop reads it."""
    return _shown(nm, display_of(context), signed=False, unit=unit)


@register.simple_tag(takes_context=True)
def deviation(context: Context, nm: int | str | None, *, unit: bool = True) -> str:
    """A deviation in nanometres with its sign."""
    return _shown(nm, display_of(context), signed=True, unit=unit)


@register.simple_tag(takes_context=True)
def uncertainty(context: Context, nm: float | str | None, *, unit: bool = True) -> str:
    """An uncertainty or a guard band in nanometres, in decimals and rounded up."""
    return _shown_uncertainty(nm, display_of(context), unit=unit)


@register.simple_tag(takes_context=True)
def length_within(context: Context, nm: int) -> str:
    """A stretch within which something holds, rounded down."""
    return show_within(nm, display_of(context))


@register.filter
def shown(nm: int | str | None, display: Display) -> str:
    """`{% length %}` as a filter; the display is named."""
    return _shown(nm, display, signed=False, unit=True)


@register.filter
def shown_deviation(nm: int | str | None, display: Display) -> str:
    """`{% deviation %}` as a filter; the display is named."""
    return _shown(nm, display, signed=True, unit=True)


@register.filter
def shown_uncertainty(nm: float | str | None, display: Display) -> str:
    """`{% uncertainty %}` as a filter; the display is named."""
    return _shown_uncertainty(nm, display, unit=True)


def display_of(context: Context) -> Display:
    """The shop's display, or millimetres where a template was given none."""
    chosen: Any = context.get("display")  # Any: whatever the template was given
    return chosen if isinstance(chosen, Display) else MILLIMETRES


def _shown(nm: int | str | None, display: Display, *, signed: bool, unit: bool) -> str:
    if nm is None or isinstance(nm, str):  # a name the template does not find arrives as an empty text
        return NOTHING
    return show(nm, display, signed=signed, with_unit=unit)


def _shown_uncertainty(nm: float | str | None, display: Display, *, unit: bool) -> str:
    if nm is None or isinstance(nm, str):
        return NOTHING
    return show_uncertainty(nm, display, with_unit=unit)
