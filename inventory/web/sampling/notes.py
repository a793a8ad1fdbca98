"""A maker and a style: how strictly, since when and why; and what a person notes for the rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed, require
from inventory.queries import makers as ask_makers
from inventory.queries.sampling.history import story_of
from inventory.queries.styles import style_by_code
from inventory.services.sampling.notes import note_switching
from inventory.web.entrance import allowed, attempt, found, may_set_up
from inventory.web.sampling.forms import NoteForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def style_sampling(request: HttpRequest, code: str, style: str) -> HttpResponse:
    """Severity over time, the batches behind it, and the notes. POST: add a note."""
    person = allowed(request, Deed.VIEW)
    maker = found(ask_makers.maker_by_code(code), f"maker {code}")
    row = found(style_by_code(style), f"style {style}")
    form = NoteForm(request.POST if request.method == "POST" else None)
    if request.method == "POST":
        require(person, Deed.SET_UP)
        if form.is_valid():
            made = attempt(
                form,
                lambda: note_switching(
                    maker=maker, style=row, by=person, at=timezone.now(), **form.cleaned_data
                ),
            )
            if made is not None:
                messages.success(request, "Noted: it counts from the next sample on.")
                return redirect("style-sampling", maker.code, row.code)
    context = {
        "maker": maker,
        "style": row,
        "story": story_of(maker, row),
        "form": form,
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/sampling/style.html", context)
