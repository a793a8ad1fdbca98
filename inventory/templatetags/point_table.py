"""The cells of a judged piece's table.

{% load point_table %}
{% found row.left %}         figure, mark and deviation of one finding, or a dash
{% found_pair row.pair %}    left minus right with its limit
{% aspect_word "L" %}        left, right, full girth, left against right
{{ reading.typed|lacks_unit }}   whether its unit must be said beside it
{{ risk.alone.wrong|chance }}    2.3 %, never 0 or 100; a dash for nothing
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, Literal

from django import template
from django.template import Context

from inventory.calc.length import show
from inventory.calc.risk import percent
from inventory.templatetags.lengths import display_of

if TYPE_CHECKING:
    from inventory.calc.judging import Finding

register = template.Library()

_UNIT_SIGNS: Final = frozenset("\"'″′”’")
ASPECT_WORDS: Final = {
    "L": "left",
    "R": "right",
    "S": "as read",
    "F": "full girth",
    "D": "left against right",
}


@register.simple_tag
def aspect_word(code: str) -> str:
    """What was judged, in words; nothing for a code nobody knows."""
    return ASPECT_WORDS.get(code, "")


@register.filter
def lacks_unit(typed: str) -> bool:
    """Whether a reading was typed without its unit, so that the unit must be said beside it."""
    return not any(sign.isalpha() or sign in _UNIT_SIGNS for sign in typed)


@register.filter
def chance(share: float | Literal[""] | None) -> str:
    """A chance in per cent."""
    return "–" if share is None or share == "" else percent(share)


@register.inclusion_tag("inventory/floor/parts/found.html", takes_context=True)
def found(context: Context, finding: Finding | None) -> dict[str, Any]:  # Any: a context
    """One finding with its deviation from nominal."""
    display = display_of(context)
    small = ""
    if finding is not None:
        small = show(finding.value_nm - finding.nominal_nm, display, signed=True, with_unit=False)
    return {"finding": finding, "small": small, "signed": False, "display": display}


@register.inclusion_tag("inventory/floor/parts/found.html", takes_context=True)
def found_pair(context: Context, finding: Finding | None) -> dict[str, Any]:  # Any: a context
    """Left minus right, with the limit it is held against."""
    display = display_of(context)
    small = "" if finding is None else f"limit {show(finding.upper_nm, display, with_unit=False)}"
    return {"finding": finding, "small": small, "signed": True, "display": display}
