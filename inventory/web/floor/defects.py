"""Defects and their photos: noting them, listing them, handing the photos out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.access import Deed
from inventory.catalogue.defects import ZONES
from inventory.models import Defect, DefectKind, Photo, Shop
from inventory.queries.batches import batch_by_number
from inventory.services.defects import add_photos, note_defect
from inventory.services.photos import content_type_of, preview_of
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.floor.forms.defects import PHOTO_BOXES, DefectForm, PhotosForm
from inventory.web.floor.offers import offers
from inventory.web.paging import page_of, pager

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponseBase

# A photo is shown as a picture and never as a page, whatever is in it; only whoever is signed in may keep it.
PHOTO_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "private, max-age=3600",
}


def defect_new(request: HttpRequest, number: int) -> HttpResponse:
    """Note a defect on a batch or one of its pieces (`?piece=P000123`), with photos."""
    person = allowed(request, Deed.NOTE_DEFECT)
    batch = found(batch_by_number(number), f"batch B{number:04d}")
    kinds = list(DefectKind.objects.filter(is_active=True))
    form = DefectForm(
        typed_in(request),
        request.FILES or None,
        batch=batch,
        unit=Shop.objects.current().as_display().unit,
        piece=request.GET.get("piece", "")[:20],
        kinds=kinds,
    )
    if request.method == "POST" and form.is_valid():
        said = {name: value for name, value in form.cleaned_data.items() if name not in PHOTO_BOXES}
        defect = attempt(
            form,
            lambda: note_defect(batch=batch, by=person, at=timezone.now(), photos=form.taken(), **said),
        )
        if defect is not None:
            messages.success(request, f"Noted: {defect}.")
            if defect.piece is not None:
                return redirect("piece", defect.piece.number)
            return redirect("batch-defects", batch.number)
    context = {"batch": batch, "form": form, "kinds": kinds, "zones": ZONES}
    return render(request, "inventory/floor/defect_new.html", context)


def batch_defects(request: HttpRequest, number: int) -> HttpResponse:
    """All defects seen on a batch and its pieces."""
    allowed(request, Deed.VIEW)
    batch = found(batch_by_number(number), f"batch B{number:04d}")
    seen = batch.defects.select_related("piece", "seen_by").prefetch_related("photos").order_by("-id")
    context = {"batch": batch, "may": offers(request), **pager(request, page_of(request, seen, rows=20))}
    return render(request, "inventory/floor/batch_defects.html", context)


def defect_photos(request: HttpRequest, pk: int) -> HttpResponse:
    """Add photos to a defect noted before."""
    person = allowed(request, Deed.NOTE_DEFECT)
    defect = found(
        Defect.objects.select_related("batch__style", "piece").filter(pk=pk).first(), f"defect {pk}"
    )
    form = PhotosForm(typed_in(request), request.FILES or None)
    if request.method == "POST" and form.is_valid():
        kept = attempt(
            form,
            lambda: add_photos(defect=defect, photos=form.taken(), by=person, at=timezone.now()),
        )
        if kept is not None:
            messages.success(request, f"{len(kept)} photo{'' if len(kept) == 1 else 's'} kept.")
            if defect.piece is not None:
                return redirect("piece", defect.piece.number)
            return redirect("batch-defects", defect.batch.number)
    context = {"defect": defect, "batch": defect.batch, "form": form}
    return render(request, "inventory/floor/defect_photos.html", context)


@require_safe
def photo(request: HttpRequest, pk: int) -> HttpResponse:
    """The copy of a photo made for showing."""
    allowed(request, Deed.VIEW)
    row = found(Photo.objects.filter(pk=pk).first(), f"photo {pk}")
    return HttpResponse(preview_of(row), content_type="image/jpeg", headers=PHOTO_HEADERS)


@require_safe
def photo_original(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The original as it came, to keep; never opened inside a page."""
    allowed(request, Deed.VIEW)
    row = found(Photo.objects.filter(pk=pk).first(), f"photo {pk}")
    return FileResponse(
        row.original.open("rb"),
        as_attachment=True,
        filename=row.original_name,
        content_type=content_type_of(row),
        headers=PHOTO_HEADERS,
    )
