"""Makers: the list, one maker, entering and changing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.queries import makers as ask
from inventory.services.makers import add_maker, change_maker
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.setup.forms.makers import MakerForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def maker_list(request: HttpRequest) -> HttpResponse:
    """All makers; `?all=1` shows those no longer bought from as well."""
    allowed(request, Deed.VIEW)
    everyone = request.GET.get("all") == "1"
    lines = ask.maker_lines(with_retired=everyone)
    context = {"lines": lines, "everyone": everyone, "may_set_up": may_set_up(request)}
    return render(request, "inventory/setup/makers.html", context)


def maker_page(request: HttpRequest, code: str) -> HttpResponse:
    """One maker: how to reach them, what window is agreed, what came last."""
    allowed(request, Deed.VIEW)
    maker = found(ask.maker_by_code(code), f"maker {code}")
    context = {
        "maker": maker,
        "deliveries": ask.latest_deliveries_of(maker),
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/setup/maker.html", context)


def maker_new(request: HttpRequest) -> HttpResponse:
    """Enter a maker."""
    person = allowed(request, Deed.SET_UP)
    form = MakerForm(typed_in(request))
    if request.method == "POST" and form.is_valid():
        maker = attempt(form, lambda: add_maker(by=person, at=timezone.now(), **form.cleaned_data))
        if maker is not None:
            messages.success(request, f"{maker.name} is entered.")
            return redirect("maker", maker.code)
    return render(request, "inventory/setup/maker_form.html", {"form": form})


def maker_edit(request: HttpRequest, code: str) -> HttpResponse:
    """Change what is known of a maker."""
    person = allowed(request, Deed.SET_UP)
    maker = found(ask.maker_by_code(code), f"maker {code}")
    form = MakerForm(typed_in(request), row=maker)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, lambda: change_maker(maker=maker, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if changed is not None:
            messages.success(request, f"{changed.name} is saved.")
            return redirect("maker", changed.code)
    return render(request, "inventory/setup/maker_form.html", {"form": form, "maker": maker})
