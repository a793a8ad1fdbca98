"""What a page offers the signed-in person; the services ask again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.access import Deed, may

if TYPE_CHECKING:
    from django.http import HttpRequest


def offers(request: HttpRequest) -> dict[str, bool]:
    """For a template's `may`: `may.receive`, `may.measure`, `may.decide` and so on."""
    return {deed.name.lower(): may(request.user, deed) for deed in Deed}
