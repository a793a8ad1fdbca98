"""The points of a style: add, change, move along the walk, retire, bring back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory import catalogue
from inventory.access import Deed
from inventory.calc.length import Unit, nm_per_unit
from inventory.models import CataloguePoint, MeasurePoint, Shop
from inventory.queries import styles as ask
from inventory.services.points import add_point, bring_back_point, change_point, move_point, retire_point
from inventory.services.refusals import Refused
from inventory.services.styles import WORDS
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.setup.drawings import drawn, is_drawn
from inventory.web.setup.forms.points import PointForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import Style


def point_new(request: HttpRequest, code: str) -> HttpResponse:
    """Add a point: a blank one, or `?from=HH` filled in from the catalogue."""
    person = allowed(request, Deed.SET_UP)
    style = found(ask.style_by_code(code), f"style {code}")
    offered = [offer.point for offer in ask.offers_for(style.family)]
    taken = set(style.points.values_list("code", flat=True))
    chosen = next((point for point in offered if point.code == request.GET.get("from")), None)
    form = PointForm(typed_in(request), initial=_blank() if chosen is None else _words(chosen))
    if request.method == "POST" and form.is_valid():
        point = attempt(
            form, lambda: add_point(style=style, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if point is not None:
            messages.success(request, f"{point} is added at the end of the walk.")
            return redirect("style", style.code)
    context = {
        "form": form,
        "style": style,
        "offered": [point for point in offered if point.code not in taken],
        "chosen": chosen,
    }
    return render(request, "inventory/setup/point_new.html", context)


def point_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the nine words, the pitfalls and the reading error of a point."""
    person = allowed(request, Deed.SET_UP)
    point = found(_point(pk), "point of measure")
    form = PointForm(typed_in(request), row=point)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, lambda: change_point(point=point, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if changed is not None:
            messages.success(request, f"{changed} is saved.")
            return redirect("style", point.style.code)
    context = {
        "form": form,
        "point": point,
        "style": point.style,
        "laid": catalogue.FAMILIES[point.style.family].laid,
        "is_drawn": is_drawn(point.style.family, point.code),
        "drawing": drawn(point.style.family, _codes(point.style), active=point.code),
    }
    return render(request, "inventory/setup/point_edit.html", context)


@require_POST
def point_move(request: HttpRequest, pk: int) -> HttpResponse:
    """One place up or down the walk."""
    person = allowed(request, Deed.SET_UP)
    point = found(_point(pk), "point of measure")
    places = -1 if request.POST.get("direction") == "up" else 1
    try:
        move_point(point=point, places=places, by=person, at=timezone.now())
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(f"{_address(point.style)}#point-{point.code}")


def point_retire(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask first, then measure this point no longer."""
    person = allowed(request, Deed.SET_UP)
    point = found(_point(pk), "point of measure")
    if request.method == "POST":
        try:
            retire_point(point=point, by=person, at=timezone.now())
        except Refused as refusal:
            messages.error(request, str(refusal))
        else:
            messages.success(request, f"{point} is retired.")
        return redirect("style", point.style.code)
    return render(request, "inventory/setup/point_retire.html", {"point": point, "style": point.style})


@require_POST
def point_bring_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Measure a retired point again."""
    person = allowed(request, Deed.SET_UP)
    point = found(_point(pk), "point of measure")
    bring_back_point(point=point, by=person, at=timezone.now())
    messages.success(request, f"{point} is measured again.")
    return redirect("style", point.style.code)


def _point(pk: int) -> MeasurePoint | None:
    return MeasurePoint.objects.select_related("style", "known_error__study").filter(pk=pk).first()


def _codes(style: Style) -> list[str]:
    return [point.code for point in ask.points_of(style)]


def _address(style: Style) -> str:
    return redirect("style", style.code).url


def _words(point: CataloguePoint) -> dict[str, object]:
    return {word: getattr(point, word) for word in WORDS}


def _blank() -> dict[str, object]:
    """Planning values for a level that has to be found; common practice, no source."""
    if Shop.objects.current().as_display().unit == Unit.INCH:
        hundredth_nm = nm_per_unit()[Unit.INCH] // 100
        return {"same_person_sd_nm": 6 * hundredth_nm, "two_people_sd_nm": 8 * hundredth_nm}
    return {"same_person_sd_nm": 1_500_000, "two_people_sd_nm": 2_000_000}
