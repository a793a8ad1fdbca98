"""What the screens of import and export do at the door besides what every screen does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404

from inventory.access import Deed
from inventory.models import ImportRun, Style, User
from inventory.queries import exchange as ask
from inventory.services.importing.runs import DEEDS
from inventory.web.entrance import allowed, found

if TYPE_CHECKING:
    from django.http import HttpRequest


def importer(request: HttpRequest, kind: str) -> User:
    """The signed-in person, if they may bring in files of this kind."""
    if kind not in DEEDS:
        raise Http404(f"There is no import called {kind!r}.")
    return allowed(request, DEEDS[kind])


def run_for(request: HttpRequest, pk: int) -> tuple[ImportRun, User]:
    """The run at this address and the person, if they may bring in files of its kind."""
    allowed(request, Deed.BRING_IN)
    run = found(ask.run_by_pk(pk), "import")
    return run, importer(request, run.kind)


def found_style(code: str) -> Style:
    """The style of this code, or a page that says there is none."""
    return found(Style.objects.filter(code=code).first(), f"style {code}")
