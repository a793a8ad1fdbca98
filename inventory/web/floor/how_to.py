"""Help: how the work goes, and what the words mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import render

from inventory.access import Deed
from inventory.models import Shop
from inventory.web.entrance import allowed
from inventory.web.floor.glossary import GLOSSARY

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def help_page(request: HttpRequest) -> HttpResponse:
    """A short how-to, and the words of the trade."""
    allowed(request, Deed.VIEW)
    context = {"glossary": GLOSSARY, "rules": Shop.objects.current()}
    return render(request, "inventory/floor/help.html", context)
