"""The kinds of defects a shop looks for: its own list, laid with the usual ones."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models import DefectKind
from inventory.services.defect_kinds import add_defect_kind, change_defect_kind
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.setup.forms.defect_kinds import DefectKindForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def defect_kinds(request: HttpRequest) -> HttpResponse:
    """All kinds by family, those no longer offered among them."""
    allowed(request, Deed.VIEW)
    families: dict[str, list[DefectKind]] = {}
    for kind in DefectKind.objects.all():
        families.setdefault(kind.family, []).append(kind)
    context = {"families": list(families.items()), "may_set_up": may_set_up(request)}
    return render(request, "inventory/setup/defect_kinds.html", context)


def defect_kind_new(request: HttpRequest) -> HttpResponse:
    """Add a kind."""
    person = allowed(request, Deed.SET_UP)
    form = DefectKindForm(typed_in(request), initial={"is_active": True, "source": "our own"})
    if request.method == "POST" and form.is_valid():
        kind = attempt(form, lambda: add_defect_kind(by=person, at=timezone.now(), **form.cleaned_data))
        if kind is not None:
            messages.success(request, f"“{kind}” is in the list.")
            return redirect("defect-kinds")
    return render(request, "inventory/setup/defect_kind.html", {"form": form, "kind": None})


def defect_kind(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a kind; defects noted before stay as they were noted."""
    person = allowed(request, Deed.SET_UP)
    kind = found(DefectKind.objects.filter(pk=pk).first(), "kind of defect")
    form = DefectKindForm(typed_in(request), row=kind)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, lambda: change_defect_kind(kind=kind, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if changed is not None:
            messages.success(request, f"“{changed}” is saved. Defects noted before stay as they are.")
            return redirect("defect-kinds")
    return render(request, "inventory/setup/defect_kind.html", {"form": form, "kind": kind})
