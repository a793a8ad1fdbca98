"""What a stored verdict says of its tapes, in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from django.utils.timezone import localtime

from inventory.calc.length import show

if TYPE_CHECKING:
    from inventory.calc.length import Display


def correction_words(document: Mapping[str, Any] | None, display: Display) -> tuple[str, ...]:  # Any: JSON
    """Such as `corrected by +0.4 mm (tape T1, check of 12 Nov 2026)`, one for each tape and check.

    `document` is `PieceVerdict.corrections`.
    """
    return tuple(_words(entry, display) for entry in (document or {}).get("tapes", ()))


def _words(entry: Mapping[str, Any], display: Display) -> str:  # Any: JSON
    low, high = (show(entry[end], display, signed=True, with_unit=False) for end in ("low_nm", "high_nm"))
    unit = show(entry["high_nm"], display, signed=True).removeprefix(high)
    by = f"{low}{unit}" if low == high else f"{low} to {high}{unit}"
    tape = f"tape {entry['number']}"
    if entry["found_at"] is None:
        return f"corrected by {by} ({tape}, check of {_day(entry['checked_at'])})"
    good = f"good on {_day(entry['checked_at'])}" if entry["checked_at"] else "never found good before"
    return (
        f"corrected by {by}, the middle of what it may have been off ({tape}, {good}, found wrong on "
        f"{_day(entry['found_at'])})"
    )


def _day(text: str) -> str:
    return f"{localtime(dt.datetime.fromisoformat(text)):%-d %b %Y}"
