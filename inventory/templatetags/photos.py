"""Photos kept as evidence, and the drawings of the zones they are about.

{% load photos %}
{% original photo %}               whether the original is what was stored, in words
{{ drawings|zone_of:"A" }}         the drawing of a zone
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from inventory.services.photos import is_unchanged

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inventory.models import Photo

register = template.Library()


@register.simple_tag
def original(photo: Photo) -> SafeString:
    """What reading the original again says."""
    unchanged = is_unchanged(photo)
    if unchanged:
        return SafeString("original unchanged")
    said = "the original is missing" if unchanged is None else "file differs from its hash"
    return format_html('<strong class="due due-late">{}</strong>', said)


@register.filter
def zone_of(drawings: Mapping[str, str], zone: str) -> SafeString:
    """The drawing of a zone."""
    return mark_safe(drawings.get(zone, ""))  # noqa: S308  # our own drawing, see catalogue.zone_map
