"""What an audit row says beside who, what and when.

{% load audit_words %}
{{ row.detail|said }}     "before: hold; new size: 24"
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from django import template
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.formats import date_format

register = template.Library()

_DIGEST_CHARACTERS: Final = 64


@register.filter
def said(detail: Mapping[str, Any]) -> str:  # Any: what JSON can hold
    """The detail of an audit row in one line; what is empty is left out."""
    parts = (
        f"{name.replace('_', ' ')}: {_shown(value)}"
        for name, value in detail.items()
        if value not in (None, "", [], {})
    )
    return "; ".join(parts)


def _shown(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(_shown(item) for item in value)
    if isinstance(value, Mapping):
        return said(value)
    if isinstance(value, str) and (moment := _moment(value)) is not None:
        return date_format(timezone.localtime(moment), "j M Y H:i")
    if isinstance(value, str) and len(value) == _DIGEST_CHARACTERS and value.isalnum():
        return f"{value[:12]}…"
    return str(value)


def _moment(text: str) -> dt.datetime | None:
    """A moment with its offset, as `isoformat` writes it; None for any other text."""
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None
    return moment if moment is not None and timezone.is_aware(moment) else None
