"""Styles: the list, starting one from the catalogue, its page with drawing, walk and specs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory import catalogue
from inventory.access import Deed, may
from inventory.queries import styles as ask
from inventory.queries.specs import specs_of
from inventory.services.styles import change_style, start_style
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.setup.drawings import drawn, is_drawn
from inventory.web.setup.forms.styles import NewStyleForm, StyleForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import User


def style_list(request: HttpRequest) -> HttpResponse:
    """All styles; `?all=1` shows those no longer received as well."""
    allowed(request, Deed.VIEW)
    every = request.GET.get("all") == "1"
    context = {
        "lines": ask.style_lines(with_retired=every),
        "every": every,
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/setup/styles.html", context)


def style_page(request: HttpRequest, code: str) -> HttpResponse:
    """One style: drawing, how-to-measure table, walk order, revisions of its spec."""
    allowed(request, Deed.VIEW)
    style = found(ask.style_by_code(code), f"style {code}")
    points = list(ask.points_of(style))
    active = [point for point in points if point.is_active]
    specs = list(specs_of(style.pk))
    context = {
        "style": style,
        "family": catalogue.FAMILIES[style.family],
        "points": active,
        "retired": [point for point in points if not point.is_active],
        "undrawn": [point.code for point in active if not is_drawn(style.family, point.code)],
        "drawing": drawn(style.family, [point.code for point in active], active=request.GET.get("point")),
        "specs": specs,
        "draft": next((spec for spec in specs if not spec.is_frozen), None),
        "in_force": next((spec for spec in specs if spec.state == spec.State.IN_FORCE), None),
        "may_set_up": may_set_up(request),
        "may_print": may(request.user, Deed.PRINT),
    }
    return render(request, "inventory/setup/style.html", context)


def style_new(request: HttpRequest) -> HttpResponse:
    """First choose a family by its drawing, then name the style and tick its points."""
    person = allowed(request, Deed.SET_UP)
    family = request.POST.get("family") or request.GET.get("family", "")
    if family not in catalogue.FAMILIES:
        families = [
            (known, drawn(known.code, [point.code for point in catalogue.core_points(known.code)]))
            for known in catalogue.FAMILIES.values()
        ]
        return render(request, "inventory/setup/style_family.html", {"families": families})
    return _start(request, family, person)


def _start(request: HttpRequest, family: str, person: User) -> HttpResponse:
    offers = ask.offers_for(family)
    form = NewStyleForm(
        typed_in(request),
        offers=offers,
        contains_metal=catalogue.FAMILIES[family].group == "laced",
    )
    if request.method == "POST" and form.is_valid():
        style = attempt(
            form, lambda: start_style(family=family, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if style is not None:
            messages.success(request, f"{style.name} is started with {style.points.count()} points.")
            return redirect("style", style.code)
    ticked = set(form["point_codes"].value() or [])
    context = {
        "form": form,
        "family": catalogue.FAMILIES[family],
        "offers": [(offer, offer.point.code in ticked) for offer in offers],
        "drawing": drawn(family, [offer.point.code for offer in offers]),
    }
    return render(request, "inventory/setup/style_new.html", context)


def style_edit(request: HttpRequest, code: str) -> HttpResponse:
    """Change a style's code, name, note, or whether it is still received."""
    person = allowed(request, Deed.SET_UP)
    style = found(ask.style_by_code(code), f"style {code}")
    form = StyleForm(typed_in(request), row=style)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, lambda: change_style(style=style, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if changed is not None:
            messages.success(request, f"{changed.name} is saved.")
            return redirect("style", changed.code)
    return render(request, "inventory/setup/style_form.html", {"form": form, "style": style})
