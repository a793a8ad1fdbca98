"""Where the main navigation leads, and who sees which entry."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.urls import NoReverseMatch, reverse

from inventory.access import Deed, may

if TYPE_CHECKING:
    from collections.abc import Sequence

    from django.http import HttpRequest

MAIN: tuple[tuple[str, str, Deed], ...] = (
    ("deliveries", "Deliveries", Deed.VIEW),
    ("bench", "Bench", Deed.MEASURE),
    ("batches", "Batches", Deed.VIEW),
    ("makers", "Makers", Deed.VIEW),
    ("styles", "Styles", Deed.VIEW),
    ("our-measuring", "Our measuring", Deed.VIEW),
    ("documents", "Documents", Deed.VIEW),
    ("exchange", "Import & export", Deed.VIEW),
    ("settings", "Settings", Deed.ADMINISTER),
)
ACCOUNT: tuple[tuple[str, str, Deed], ...] = (
    ("help", "Help", Deed.VIEW),
    ("password-change", "Change password", Deed.VIEW),
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One link: `current` when the page lies under it, `exact` when it is the page itself."""

    label: str
    url: str
    current: bool
    exact: bool


def main_entries(request: HttpRequest) -> list[Entry]:
    """The main navigation for the signed-in person."""
    return _entries(MAIN, request)


def account_entries(request: HttpRequest) -> list[Entry]:
    """The links of the person's own menu, besides signing out."""
    return _entries(ACCOUNT, request)


def url_or_none(name: str) -> str | None:
    """The address of a named page, or None while nothing answers to the name."""
    try:
        return reverse(name)
    except NoReverseMatch:
        return None


def _entries(wanted: Sequence[tuple[str, str, Deed]], request: HttpRequest) -> list[Entry]:
    found = []
    for name, label, deed in wanted:
        url = url_or_none(name)
        if url is None or not may(request.user, deed):
            continue
        found.append(
            Entry(label=label, url=url, current=request.path.startswith(url), exact=request.path == url)
        )
    return found
