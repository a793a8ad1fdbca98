"""The catalogue of points: the defaults a style and its first spec start from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models import CataloguePoint
from inventory.services.catalogue_points import change_catalogue_point
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.setup.forms.points import CataloguePointForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def catalogue_page(request: HttpRequest) -> HttpResponse:
    """All defaults by kind of garment."""
    allowed(request, Deed.VIEW)
    points = list(CataloguePoint.objects.order_by("group", "position", "id"))
    groups = [
        (label, [point for point in points if point.group == group])
        for group, label in CataloguePoint.Group.choices
    ]
    context = {"groups": groups, "may_set_up": may_set_up(request)}
    return render(request, "inventory/setup/catalogue.html", context)


def catalogue_point(request: HttpRequest, pk: int) -> HttpResponse:
    """Change one default."""
    person = allowed(request, Deed.SET_UP)
    point = found(CataloguePoint.objects.filter(pk=pk).first(), "catalogue point")
    form = CataloguePointForm(typed_in(request), row=point)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form,
            lambda: change_catalogue_point(point=point, by=person, at=timezone.now(), **form.cleaned_data),
        )
        if changed is not None:
            messages.success(request, f"The default of {changed} is saved. Styles already made keep theirs.")
            return redirect("catalogue")
    return render(request, "inventory/setup/catalogue_point.html", {"form": form, "point": point})
