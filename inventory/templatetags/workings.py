"""How the level was found, or a slant taken out, as it is kept with a reading.

{% load workings %}
{% for line in reading.working|working_lines:display %}   step by step
{{ reading.working|working_sentence }}                    only the end of it
{{ level_typed|typed_in:box.name }}                       what was typed into a box of a helper
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import template

from inventory.calc.errors import ImpossibleInput
from inventory.calc.level import read_working

if TYPE_CHECKING:
    from inventory.calc.length import Display
    from inventory.calc.level import Working

register = template.Library()

UNKNOWN = "A working is kept that this version cannot read."


@register.filter
def working_lines(document: dict[str, Any] | None, display: Display) -> tuple[str, ...]:  # Any: JSON
    """What went in, how it was reckoned, what came out; nothing for no working."""
    if not document:
        return ()
    working = _known(document)
    return (UNKNOWN,) if working is None else working.lines(display)


@register.filter
def working_sentence(document: dict[str, Any] | None) -> str:  # Any: JSON
    """The end of it in one sentence; nothing for no working."""
    if not document:
        return ""
    working = _known(document)
    return UNKNOWN if working is None else working.sentence


@register.filter
def typed_in(typed: dict[str, str], name: str) -> str:
    """What was typed into a box, or nothing."""
    return typed.get(name, "")


def _known(document: dict[str, Any]) -> Working | None:  # Any: JSON
    try:
        return read_working(document)
    except (ImpossibleInput, KeyError, ValueError):
        return None
