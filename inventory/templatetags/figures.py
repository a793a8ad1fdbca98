"""Figures of a spec, exactly, in its own unit of record.

    {% load figures %}
    {{ cell.nominal_nm|figure:spec.unit_of_record }}          343    13 1/2    (unit only when another)
    {{ cell.nominal_nm|figure_with_unit:spec.unit_of_record }}  343 mm    13 1/2 in
    {{ change_nm|signed_figure:spec.unit_of_record }}         +6    −1/4

    {{ point.tolerance_minus_nm|proposed:display.unit }}      6 mm   1/4 in    what a new spec starts from

Never rounded, but for what is only proposed: what is agreed with a maker is shown to the last nanometre.
None is shown as a dash.
"""

from __future__ import annotations

from typing import Final, Literal

from django import template

from inventory.calc.length import Unit, propose, show_exact

register = template.Library()

NOTHING: Final = "–"

Maybe = int | Literal[""] | None
"""A length in nm, or nothing; an attribute that is not there comes from the template as an empty text."""


@register.filter
def figure(nm: Maybe, unit: str) -> str:
    """The exact figure as it would be typed in this unit; another unit is named."""
    return NOTHING if nm is None or nm == "" else typed(nm, unit)


@register.filter
def figure_with_unit(nm: Maybe, unit: str) -> str:
    """The exact figure, its unit always named."""
    return NOTHING if nm is None or nm == "" else show_exact(nm, unit=Unit(unit))


@register.filter
def proposed(nm: Maybe, unit: str) -> str:
    """A planning value as it is proposed for a spec in this unit."""
    return NOTHING if nm is None or nm == "" else propose(nm, unit=Unit(unit))


@register.filter
def signed_figure(nm: Maybe, unit: str) -> str:
    """A change with its sign."""
    if nm is None or nm == "":
        return NOTHING
    return f"+{typed(nm, unit)}" if nm > 0 else typed(nm, unit)


def typed(nm: int, unit: str) -> str:
    """The exact figure without its unit where that is the given one, so it can be typed back.

    >>> typed(342_900_000, "in"), typed(343_000_000, "in"), typed(343_500_000, "mm")
    ('13 1/2', '343 mm', '343.5')
    """
    return show_exact(nm, unit=Unit(unit)).removesuffix(f" {Unit(unit).value}")
