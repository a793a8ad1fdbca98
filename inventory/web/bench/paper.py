"""Type in a worksheet that was filled in on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.services import inspections
from inventory.services.inspections import WorksheetRefused
from inventory.services.refusals import Refused
from inventory.web.bench.entrance import lying_there, measurer
from inventory.web.bench.forms import WorksheetForm

if TYPE_CHECKING:
    from inventory.models import User
    from inventory.queries.bench.sheet import Sheet


def bench_paper(request: HttpRequest, number: int) -> HttpResponse:
    """All boxes of the piece at once: all are stored, or none."""
    person = measurer(request)
    sheet = lying_there(number)
    form = WorksheetForm(request.POST or None, sheet=sheet, now=timezone.localtime())
    if request.method == "POST" and form.is_valid() and _stored(form, sheet, person):
        messages.success(request, f"The worksheet of {sheet.piece.label} is stored.")
        return redirect("bench-piece", number)
    context = {"piece": sheet.piece, "sheet": sheet, "form": form}
    return render(request, "inventory/bench/paper.html", context, status=422 if form.errors else 200)


def _stored(form: WorksheetForm, sheet: Sheet, person: User) -> bool:
    try:
        inspections.record_worksheet(
            piece=sheet.piece, boxes=form.boxes(), by=person, at=timezone.now(), **form.circumstances()
        )
    except WorksheetRefused as refusal:
        for column, sentence in refusal.boxes.items():
            form.add_error(form.name_of(column), sentence)
        form.add_error(None, str(refusal))
        return False
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    return True
