"""Ask for an export, follow it, take its file."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory import tasks
from inventory.access import Deed
from inventory.models import Job
from inventory.queries.exchange import EXPORT
from inventory.services.exporting import runs
from inventory.services.progress import progress_of
from inventory.services.refusals import Refused
from inventory.web.entrance import allowed, found

if TYPE_CHECKING:
    from django.http import HttpRequest


@require_POST
def export_new(request: HttpRequest) -> HttpResponse:
    """Ask for everything in one of the forms."""
    person = allowed(request, Deed.TAKE_OUT)
    try:
        job = runs.request_export(form=request.POST.get("form", ""), by=person, at=timezone.now())
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("exchange")
    tasks.nudge(job)
    return redirect("export", job.pk)


def export_page(request: HttpRequest, pk: int) -> HttpResponse:
    """How far an export is, or its file."""
    job = _job(request, pk)
    context = {"job": job, "progress": progress_of(job), "is_there": runs.file_of(job).is_file()}
    return render(request, "inventory/exchange/export.html", context)


def export_progress(request: HttpRequest, pk: int) -> JsonResponse:
    """How far the work is, for the page that asks every second."""
    job = _job(request, pk)
    return JsonResponse({"over": job.is_over, **asdict(progress_of(job))})


def export_file(request: HttpRequest, pk: int) -> FileResponse:
    """The file itself."""
    job = _job(request, pk)
    place = runs.file_of(job)
    if job.state != "done" or not place.is_file():
        raise Http404("This export is not written yet, or its file was removed. Ask for a new one.")
    day = timezone.localtime(job.created_at).strftime("%Y-%m-%d")
    return FileResponse(place.open("rb"), as_attachment=True, filename=f"measuring-room-{day}{place.suffix}")


def _job(request: HttpRequest, pk: int) -> Job:
    allowed(request, Deed.TAKE_OUT)
    return found(Job.objects.filter(kind=EXPORT, pk=pk).select_related("created_by").first(), "export")
