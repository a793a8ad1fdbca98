"""Finish a sitting, and the verdict that comes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.queries.bench.lists import current_verdict_of, next_piece_of
from inventory.queries.bench.verdict import slip_of
from inventory.queries.sampling.standing import sampling_of
from inventory.services import inspections
from inventory.services.inspections import OwnerMustAllow
from inventory.services.judging import NotYetMeasured
from inventory.web.bench.entrance import lying_there, measurer

if TYPE_CHECKING:
    from inventory.models import User
    from inventory.queries.bench.sheet import Sheet


@require_http_methods(["GET", "HEAD", "POST"])
def bench_finish(request: HttpRequest, number: int) -> HttpResponse:
    """POST: close the open sitting and judge the piece. GET: the verdict, and the way to the next piece."""
    person = measurer(request)
    sheet = lying_there(number)
    if request.method == "POST":
        return _finish(request, sheet, person)
    verdict = current_verdict_of(sheet.piece)
    if verdict is None:
        return redirect("bench-piece", number)
    next_piece = next_piece_of(sheet.piece)
    context = {
        "piece": sheet.piece,
        "slip": slip_of(verdict, sheet),
        "next_piece": next_piece,
        "sampled": next_piece is None and sampling_of(sheet.piece.batch) is not None,
        "sitting_open": sheet.inspection is not None,
    }
    return render(request, "inventory/bench/verdict.html", context)


def _finish(request: HttpRequest, sheet: Sheet, person: User) -> HttpResponse:
    number = sheet.piece.number
    if sheet.inspection is None:  # somebody else finished it a moment ago, or the key was pressed twice
        return redirect("bench-finish", number)
    try:
        inspections.finish_inspection(inspection=sheet.inspection, by=person, at=timezone.now())
    except (NotYetMeasured, OwnerMustAllow) as refusal:
        messages.error(request, str(refusal))
        return redirect("bench-piece", number)
    return redirect("bench-finish", number)
