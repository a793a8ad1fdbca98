"""What was taken off a verdict's readings for the tapes, in words.

{% load corrections %}
{% for text in verdict.corrections|corrections_told:display %}{{ text }}{% endfor %}
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from django import template

from inventory.queries.own.corrections import correction_words

if TYPE_CHECKING:
    from inventory.calc.length import Display

register = template.Library()


@register.filter
def corrections_told(document: Mapping[str, Any] | None, display: Display) -> tuple[str, ...]:  # Any: JSON
    """Such as `corrected by +0.4 mm (tape T1, check of 12 Nov 2026)`, one for each tape and check."""
    return correction_words(document, display)
