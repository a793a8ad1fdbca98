"""The shop's settings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models import Shop
from inventory.services.shop import change_shop
from inventory.web.entrance import allowed, attempt, typed_in
from inventory.web.setup.forms.shop import ShopForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def shop_settings(request: HttpRequest) -> HttpResponse:
    """Name, display, blind entry, paper, house days."""
    person = allowed(request, Deed.ADMINISTER)
    form = ShopForm(typed_in(request), row=Shop.objects.current())
    if request.method == "POST" and form.is_valid():
        changed = attempt(form, lambda: change_shop(by=person, at=timezone.now(), **form.cleaned_data))
        if changed is not None:
            messages.success(request, "The settings are saved.")
            return redirect("settings")
    return render(request, "inventory/setup/shop.html", {"form": form})
