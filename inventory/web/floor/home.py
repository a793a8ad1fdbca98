"""The first screen: what to do now; and the box that finds anything with a label."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from inventory.access import Deed
from inventory.models import Shop
from inventory.queries.batches import batch_by_number
from inventory.queries.deliveries import deliveries_by_reference, delivery_by_number
from inventory.queries.home import home as ask_home
from inventory.queries.instruments import tapes_to_see_to
from inventory.queries.own.check_garment import state_at
from inventory.queries.pieces import piece_by_number, pieces_matching
from inventory.web.entrance import allowed
from inventory.web.floor.offers import offers
from inventory.web.sign_in import first_passwords_in_use

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

# A tag's code may hold the bare label or a whole address that ends in it.
_LABEL: Final = re.compile(r"(?:.*/)?\s*(?P<letter>[PpBbDd]?)\s*(?P<number>[0-9]{1,18})\s*/?")
_LOOK_UP: Final = {
    "P": ("piece", piece_by_number),
    "B": ("batch", batch_by_number),
    "D": ("delivery", delivery_by_number),
}
_MOST_DIGITS: Final = {"P": 18, "B": 9, "D": 9}


def home(request: HttpRequest) -> HttpResponse:
    """What to do now, for this person's role."""
    allowed(request, Deed.VIEW)
    context = {
        "home": ask_home(today=timezone.localdate(), shop=Shop.objects.current()),
        "may": offers(request),
        "tapes": tapes_to_see_to(today=timezone.localdate()),
        "measuring": state_at(timezone.now()),
        "first_passwords": first_passwords_in_use(request),
    }
    return render(request, "inventory/floor/home.html", context)


def find(request: HttpRequest) -> HttpResponse:
    """Go to the piece, batch or delivery whose label was typed or scanned; else look further.

    What no piece mentions may be an order or invoice: that leads to its delivery.
    """
    allowed(request, Deed.VIEW)
    typed = request.GET.get("q", "").strip()
    label = _LABEL.fullmatch(typed)
    if label is not None:
        letter = label["letter"].upper() or "P"
        name, look_up = _LOOK_UP[letter]
        if len(label["number"]) <= _MOST_DIGITS[letter] and look_up(int(label["number"])) is not None:
            return redirect(name, int(label["number"]))
    if not typed:
        messages.info(request, "Type or scan a label, such as P000123, B0012 or D0007.")
        return redirect("pieces")
    deliveries = deliveries_by_reference(typed[:60])
    if deliveries and not pieces_matching(text=typed[:60]).exists():
        if len(deliveries) == 1:
            return redirect("delivery", deliveries[0].number)
        return redirect(f"{reverse('deliveries')}?{urlencode({'text': typed[:60]})}")
    messages.warning(
        request, f"Nothing carries the label “{typed[:60]}”. These pieces mention it, if any do."
    )
    return redirect(f"{reverse('pieces')}?{urlencode({'text': typed[:60]})}")
