"""One page from which all of our own measuring is found: tapes, check garments, studies, budgets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import render

from inventory.access import Deed
from inventory.models import Study
from inventory.queries.own import studies as ask
from inventory.queries.own.knowing import knowing_by_style
from inventory.web.entrance import allowed, may_set_up

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

NEWEST = 5


def our_measuring(request: HttpRequest) -> HttpResponse:
    """What is known of our own tape and hands, and what is due."""
    person = allowed(request, Deed.VIEW)
    studies = ask.studies_listed()
    mine = Study.objects.filter(state=Study.State.RUNNING, study_people__person=person)
    context = {
        "studies": studies[:NEWEST],
        "mine": mine,
        "styles": knowing_by_style(),
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/own/our_measuring.html", context)
