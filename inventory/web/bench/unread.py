"""Note that a side cannot be read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory.services import inspections
from inventory.services.refusals import Refused
from inventory.web.bench.entrance import lying_there, measurer

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


@require_POST
def bench_unread(request: HttpRequest, number: int) -> HttpResponse:
    """Note it with its reason, and go on to the next step."""
    person = measurer(request)
    sheet = lying_there(number)
    step = sheet.step_named(request.POST.get("step", ""))
    if step is None:
        messages.error(request, "That step is not in the walk of this piece. Nothing was noted.")
        return redirect("bench-piece", number)
    try:
        inspections.note_unread_side(
            piece=sheet.piece,
            point=step.point,
            side=step.side,
            reason=request.POST.get("reason", "")[:200],
            by=person,
            at=timezone.now(),
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("bench-piece", number)
    messages.info(
        request,
        f"Noted: {step.words} cannot be read. The full girth will be twice the other half, with a wider "
        "uncertainty; the owner has to allow that at the end.",
    )
    return redirect("bench-piece", number)
