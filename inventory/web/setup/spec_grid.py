"""Filling a draft in: the grid of figures, tolerances by size, the frame."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models.points import Basis, FavourableSide
from inventory.models.specs import SpecIsFrozen
from inventory.queries import specs as ask
from inventory.services.spec_cells import Fill, set_cells
from inventory.services.spec_entries import FiguresNotUnderstood, PointEntry, Where
from inventory.services.spec_sizes import change_draft
from inventory.web.entrance import allowed, attempt, found
from inventory.web.setup.forms.specs import DraftFrameForm
from inventory.web.setup.grid import entries_of, grid_of, tolerance_entries_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import Spec, User
    from inventory.queries.specs import SpecSheet

_FILL_OF = {"fill": Fill.EMPTY, "refill": Fill.ALL}
"""Which button was pressed, and what it asks for before saving."""


def spec_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """The grid: nominals by size, then how each point is judged."""
    person = allowed(request, Deed.SET_UP)
    spec = found(ask.spec_for_reading(pk), "spec")
    if spec.is_frozen:
        return _frozen(request, spec)
    sheet = ask.sheet_of(spec)
    errors: Mapping[Where, str] = {}
    if request.method == "POST":
        fill = _FILL_OF.get(request.POST.get("action", ""), Fill.NOTHING)
        errors = _save(request, spec, entries_of(sheet, request.POST), fill=fill, by=person)
        if not errors:
            return redirect("spec" if request.POST.get("action") == "done" else "spec-edit", spec.pk)
    return render(request, "inventory/setup/spec_edit.html", _context(request, sheet, errors))


def spec_tolerances(request: HttpRequest, pk: int) -> HttpResponse:
    """Minus and plus of each size, where they are not the same in all."""
    person = allowed(request, Deed.SET_UP)
    spec = found(ask.spec_for_reading(pk), "spec")
    if spec.is_frozen:
        return _frozen(request, spec)
    sheet = ask.sheet_of(spec)
    errors: Mapping[Where, str] = {}
    if request.method == "POST":
        entries = tolerance_entries_of(sheet, request.POST)
        errors = _save(request, spec, entries, fill=Fill.NOTHING, by=person)
        if not errors:
            return redirect("spec-edit", spec.pk)
    return render(request, "inventory/setup/spec_tolerances.html", _context(request, sheet, errors))


def spec_frame(request: HttpRequest, pk: int) -> HttpResponse:
    """Size run, base size, unit of record and reason of a draft."""
    person = allowed(request, Deed.SET_UP)
    spec = found(ask.spec_for_reading(pk), "spec")
    if spec.is_frozen:
        return _frozen(request, spec)
    sizes = list(spec.sizes.order_by("position").values_list("label", flat=True))
    form = DraftFrameForm(request.POST) if request.method == "POST" else DraftFrameForm.of(spec, sizes)
    if request.method == "POST" and form.is_valid():
        frame = form.cleaned_data
        changed = attempt(
            form,
            lambda: change_draft(
                spec=spec,
                unit_of_record=frame["unit_of_record"],
                size_labels=frame["size_run"],
                base_size=frame["base_size"],
                reason=frame["reason"],
                drop_figures=frame["drop_figures"],
                by=person,
                at=timezone.now(),
            ),
        )
        if changed is not None:
            messages.success(request, f"The frame of {changed} is saved.")
            return redirect("spec-edit", changed.pk)
    return render(
        request, "inventory/setup/spec_frame.html", {"form": form, "spec": spec, "style": spec.style}
    )


def _save(
    request: HttpRequest, spec: Spec, entries: Mapping[str, PointEntry], *, fill: Fill, by: User
) -> Mapping[Where, str]:
    """Save the rows; what is wrong with them by box, empty when all is well."""
    try:
        set_cells(spec=spec, entries=entries, fill=fill, by=by, at=timezone.now())
    except FiguresNotUnderstood as refusal:
        return refusal.errors
    except SpecIsFrozen as refusal:
        return {(spec.style.code, "spec"): str(refusal)}
    messages.success(request, f"The figures of {spec} are saved.")
    return {}


def _context(request: HttpRequest, sheet: SpecSheet, errors: Mapping[Where, str]) -> dict[str, object]:
    return {
        "spec": sheet.spec,
        "style": sheet.spec.style,
        "unit": sheet.spec.unit_of_record,
        "grid": grid_of(sheet, posted=request.POST if request.method == "POST" else None, errors=errors),
        "missing": sheet.missing,
        "bases": Basis.choices,
        "favourable_sides": FavourableSide.choices,
    }


def _frozen(request: HttpRequest, spec: Spec) -> HttpResponse:
    messages.error(request, str(SpecIsFrozen(spec)))
    return redirect("spec", spec.pk)
