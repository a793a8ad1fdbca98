"""Specs: one revision, revising, putting in force, discarding, comparing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models import Shop, Spec
from inventory.models.specs import SpecIsFrozen
from inventory.queries import specs as ask
from inventory.queries.spec_differences import differences
from inventory.queries.spec_warnings import grouped_warnings_of
from inventory.services.refusals import Refused
from inventory.services.specs import discard_draft, put_spec_in_force, revise_spec
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.setup.drawings import drawn
from inventory.web.setup.forms.specs import ReviseForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def spec_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One revision: the graded grid, how each point is judged, what to mind."""
    allowed(request, Deed.VIEW)
    spec = found(ask.spec_for_reading(pk), "spec")
    sheet = ask.sheet_of(spec)
    revisions = list(ask.specs_of(spec.style_id))
    context = {
        "spec": spec,
        "style": spec.style,
        "sheet": sheet,
        "unit": spec.unit_of_record,
        "warnings": grouped_warnings_of(sheet, rule=Shop.objects.current().shelf_rule.as_rule()),
        "drawing": drawn(spec.style.family, [row.point.code for row in sheet.rows]),
        "others": [other for other in revisions if other.pk != spec.pk],
        "draft": next((other for other in revisions if not other.is_frozen), None),
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/setup/spec.html", context)


def spec_publish(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what to mind and what will change, then put a draft in force."""
    person = allowed(request, Deed.SET_UP)
    spec = found(ask.spec_for_reading(pk), "spec")
    if request.method == "POST":
        try:
            put_spec_in_force(spec=spec, by=person, at=timezone.now())
        except (Refused, SpecIsFrozen) as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(request, f"{spec} is in force and frozen.")
            return redirect("spec", spec.pk)
    sheet = ask.sheet_of(spec)
    before = ask.specs_of(spec.style_id).filter(state=Spec.State.IN_FORCE).select_related("style").first()
    context = {
        "spec": spec,
        "style": spec.style,
        "unit": spec.unit_of_record,
        "before": before,
        "changes": None if before is None else differences(ask.sheet_of(before), sheet),
        "missing": sheet.missing,
        "all_sizes": sheet.sizes,
        "warnings": grouped_warnings_of(sheet, rule=Shop.objects.current().shelf_rule.as_rule()),
    }
    return render(request, "inventory/setup/spec_publish.html", context)


def spec_revise(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft the next revision as a copy of this one, with a reason."""
    person = allowed(request, Deed.SET_UP)
    spec = found(ask.spec_for_reading(pk), "spec")
    form = ReviseForm(typed_in(request))
    if request.method == "POST" and form.is_valid():
        draft = attempt(
            form,
            lambda: revise_spec(spec=spec, reason=form.cleaned_data["reason"], by=person, at=timezone.now()),
        )
        if draft is not None:
            messages.success(request, f"{draft} is drafted as a copy of revision {spec.revision}.")
            return redirect("spec-edit", draft.pk)
    context = {"form": form, "spec": spec, "style": spec.style, "draft": ask.draft_of(spec.style_id)}
    return render(request, "inventory/setup/spec_revise.html", context)


def spec_discard(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask first, then throw a draft away."""
    person = allowed(request, Deed.SET_UP)
    spec = found(ask.spec_for_reading(pk), "spec")
    if request.method == "POST":
        try:
            discard_draft(spec=spec, by=person, at=timezone.now())
        except (Refused, SpecIsFrozen) as refusal:
            messages.error(request, str(refusal))
            return redirect("spec", spec.pk)
        messages.success(request, f"The draft of revision {spec.revision} is gone.")
        return redirect("style", spec.style.code)
    return render(request, "inventory/setup/spec_discard.html", {"spec": spec, "style": spec.style})


def spec_changes(request: HttpRequest, pk: int) -> HttpResponse:
    """What differs between this revision and another: `?from=` its number, else the one before."""
    allowed(request, Deed.VIEW)
    spec = found(ask.spec_for_reading(pk), "spec")
    others = list(ask.specs_of(spec.style_id).exclude(pk=spec.pk).select_related("style"))
    wanted = request.GET.get("from", "")
    older = [other for other in others if other.revision < spec.revision]
    chosen = next((other for other in others if str(other.revision) == wanted), None)
    other = chosen or next(iter(older or others), None)
    context = {
        "spec": spec,
        "style": spec.style,
        "unit": spec.unit_of_record,
        "others": others,
        "other": other,
        "changes": None if other is None else differences(ask.sheet_of(other), ask.sheet_of(spec)),
    }
    return render(request, "inventory/setup/spec_changes.html", context)
