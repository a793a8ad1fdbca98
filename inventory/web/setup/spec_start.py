"""Drafting a style's spec from a base size and grade steps."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.calc.length import Unit
from inventory.models import Shop, Spec
from inventory.queries.specs import draft_of
from inventory.queries.styles import style_by_code
from inventory.services.spec_defaults import entries_from_catalogue
from inventory.services.spec_entries import FiguresNotUnderstood, Where
from inventory.services.specs import draft_spec
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.setup.forms.specs import FrameForm
from inventory.web.setup.grid import Posted
from inventory.web.setup.start_grid import start_entries, start_rows

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import MeasurePoint, Style, User


def spec_new(request: HttpRequest, code: str) -> HttpResponse:
    """One page: the frame, and for each point its base nominal, step and tolerance."""
    person = allowed(request, Deed.SET_UP)
    style = found(style_by_code(code), f"style {code}")
    waiting = draft_of(style.pk)
    if waiting is not None:
        messages.info(request, f"Style {style.code} has this draft already.")
        return redirect("spec", waiting.pk)
    points = list(style.points.filter(is_active=True))
    unit = Shop.objects.current().display_unit
    form = FrameForm(typed_in(request), initial={"unit_of_record": unit})
    errors: Mapping[Where, str] = {}
    if request.method == "POST" and form.is_valid():
        done = attempt(form, lambda: _draft(style, points, form.cleaned_data, request.POST, by=person))
        spec, errors = done or (None, {})
        if spec is not None:
            messages.success(request, f"{spec} is drafted. Look at each figure, then put it in force.")
            return redirect("spec-edit", spec.pk)
    rows = start_rows(
        points,
        proposed=entries_from_catalogue(style, unit=Unit(unit)),
        posted=request.POST if request.method == "POST" else None,
        errors=errors,
        base_size=form.cleaned_data.get("base_size", "") if form.is_bound else "",
    )
    context = {
        "form": form,
        "style": style,
        "rows": rows,
        "wrong": [box for row in rows for box in row.boxes if box.error],
    }
    return render(request, "inventory/setup/spec_new.html", context)


def _draft(
    style: Style,
    points: Sequence[MeasurePoint],
    frame: Mapping[str, Any],  # Any: cleaned values of the form
    posted: Posted,
    *,
    by: User,
) -> tuple[Spec | None, Mapping[Where, str]]:
    """The draft, or what is wrong with the figures by box."""
    try:
        spec = draft_spec(
            style=style,
            unit_of_record=frame["unit_of_record"],
            size_labels=frame["size_run"],
            base_size=frame["base_size"],
            entries=start_entries(points, posted, base_size=frame["base_size"]),
            reason=frame["reason"],
            by=by,
            at=timezone.now(),
        )
    except FiguresNotUnderstood as refusal:
        return None, refusal.errors
    return spec, {}
