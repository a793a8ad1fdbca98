"""What the shop's two rules do to the pieces of the maker of a batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import render

from inventory.access import Deed
from inventory.models import Shop
from inventory.queries.batches import batch_by_number
from inventory.queries.global_risks import global_risks
from inventory.queries.maker_spreads import LEAST_PIECES
from inventory.queries.plans import plans_of
from inventory.web.entrance import allowed, found

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def batch_risks(request: HttpRequest, number: int) -> HttpResponse:
    """The shares of this maker's pieces that each rule calls wrongly, by the limits of the size `?size=`."""
    allowed(request, Deed.VIEW)
    batch = found(batch_by_number(number), f"batch B{number:04d}")
    sizes = list(plans_of(batch).by_size)
    asked = request.GET.get("size", "")
    size = asked if asked in sizes else next(iter(sizes), "")
    shop = Shop.objects.current()
    context = {
        "batch": batch,
        "sizes": sizes,
        "size": size,
        "risks": global_risks(batch, size_label=size, shop=shop) if size else [],
        "shop_rules": (shop.shelf_rule, shop.claim_rule),
        "least": LEAST_PIECES,
    }
    return render(request, "inventory/floor/batch_risks.html", context)
