"""The page of import and export."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import render

from inventory.access import Deed, may
from inventory.queries import exchange as ask
from inventory.web.entrance import allowed

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def exchange(request: HttpRequest) -> HttpResponse:
    """What can be brought in and written out, and what was lately."""
    person = allowed(request, Deed.VIEW)
    may_import, may_export = may(person, Deed.BRING_IN), may(person, Deed.TAKE_OUT)
    return render(
        request,
        "inventory/exchange/overview.html",
        {
            "may_import": may_import,
            "may_restore": may(person, Deed.ADMINISTER),
            "may_set_up": may(person, Deed.SET_UP),
            "may_export": may_export,
            "runs": ask.latest_runs() if may_import else (),
            "exports": ask.latest_exports(
                (ask.EXPORT, ask.MEASUREMENTS) if may_export else (ask.MEASUREMENTS,)
            ),
        },
    )
