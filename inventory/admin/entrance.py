"""The door of the set-up site: the shop's own sign-in, and the shop's own word to whom it is not open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib.auth.views import redirect_to_login
from django.shortcuts import redirect
from django.urls import reverse

from inventory.access import Deed, require

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def entrance(request: HttpRequest) -> HttpResponse:
    """Where the set-up site sends whomever it does not let in.

    Strangers go to the sign-in and come back; to a person of another role it raises `NotAllowed`, like every
    other screen, instead of asking for the password once more.
    """
    if not request.user.is_authenticated:
        return redirect_to_login(request.GET.get("next") or reverse("admin:index"))
    require(request.user, Deed.ADMINISTER)
    return redirect("admin:index")
