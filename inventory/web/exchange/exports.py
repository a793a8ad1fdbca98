"""Ask for an export, follow it, take its file."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Final

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory import tasks
from inventory.access import Deed
from inventory.models import Job
from inventory.queries.batches import batch_by_number
from inventory.queries.exchange import EXPORT, MEASUREMENTS, exports_of
from inventory.services.exporting import runs
from inventory.services.progress import progress_of
from inventory.services.refusals import Refused
from inventory.web.entrance import allowed, found

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest

_MOST_DIGITS: Final = 9


# What may be taken out by whom: the table says what the pages say, the whole holds addresses too.
DEEDS: Final = {EXPORT: Deed.TAKE_OUT, MEASUREMENTS: Deed.VIEW}


@require_POST
def export_new(request: HttpRequest) -> HttpResponse:
    """Ask for everything in one of the forms."""
    person = allowed(request, Deed.TAKE_OUT)
    form = request.POST.get("form", "")
    return _asked(request, lambda: runs.request_export(form=form, by=person, at=timezone.now()))


@require_POST
def measurements_new(request: HttpRequest) -> HttpResponse:
    """Ask for the table of measurements, of one batch if the form names it."""
    person = allowed(request, Deed.VIEW)
    form, number = request.POST.get("form", ""), request.POST.get("batch", "")
    batch = None
    if number:
        known = batch_by_number(int(number)) if number.isdecimal() and len(number) <= _MOST_DIGITS else None
        batch = found(known, f"batch {number[:_MOST_DIGITS]}")
    return _asked(
        request, lambda: runs.request_measurements(form=form, batch=batch, by=person, at=timezone.now())
    )


def _asked(request: HttpRequest, deed: Callable[[], Job]) -> HttpResponse:
    try:
        job = deed()
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("exchange")
    tasks.nudge(job)
    return redirect("export", job.pk)


def export_page(request: HttpRequest, pk: int) -> HttpResponse:
    """How far an export is, or its file."""
    job = _job(request, pk)
    context = {
        "job": job,
        "whole": job.kind == EXPORT,
        "progress": progress_of(job),
        "is_there": runs.file_of(job).is_file(),
    }
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
    what = "measuring-room" if job.kind == EXPORT else "-".join(_words(job))
    return FileResponse(place.open("rb"), as_attachment=True, filename=f"{what}-{day}{place.suffix}")


def _words(job: Job) -> list[str]:
    return [word for word in ("measurements", str(job.arguments.get("label", ""))) if word]


def _job(request: HttpRequest, pk: int) -> Job:
    allowed(request, Deed.VIEW)
    job = found(exports_of(DEEDS).filter(pk=pk).first(), "export")
    allowed(request, DEEDS[job.kind])
    return job
