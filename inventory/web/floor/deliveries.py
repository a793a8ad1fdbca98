"""Deliveries: the list, one delivery with its notice clock, receiving, adding a batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models import Maker, Shop, Style
from inventory.queries import batches as ask_batches
from inventory.queries import deliveries as ask
from inventory.queries.audit import history_of_delivery
from inventory.queries.notice_clock import notice_clock
from inventory.services.deliveries import add_batch, receive_delivery
from inventory.web.entrance import allowed, attempt, found
from inventory.web.floor.forms.filters import DeliveryFilters
from inventory.web.floor.forms.receiving import BatchForm, DeliveryForm
from inventory.web.floor.offers import offers
from inventory.web.paging import page_of, pager

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

_LATEST = 8


def delivery_list(request: HttpRequest) -> HttpResponse:
    """All deliveries, newest first, each with its clock and counts."""
    allowed(request, Deed.VIEW)
    filters = DeliveryFilters(request.GET)
    asked = filters.asked
    maker: Maker | None = asked.get("maker")
    matching = ask.deliveries_matching(
        text=asked.get("text", ""),
        maker_id=maker.pk if maker else None,
        undecided=asked.get("undecided", False),
    )
    page = page_of(request, matching)
    context = {
        "filters": filters,
        "filtered": bool(asked),
        "rows": ask.rows_of(page.object_list, today=timezone.localdate(), shop=Shop.objects.current()),
        "may": offers(request),
        **pager(request, page),
    }
    return render(request, "inventory/floor/deliveries.html", context)


def delivery_page(request: HttpRequest, number: int) -> HttpResponse:
    """One delivery: its facts, its clock, its batches, what to do on receiving."""
    allowed(request, Deed.VIEW)
    delivery = found(ask.delivery_by_number(number), f"delivery D{number:04d}")
    rows = ask_batches.rows_of(delivery.batches.select_related("style", "spec__style").order_by("number"))
    context = {
        "delivery": delivery,
        "clock": notice_clock(delivery, today=timezone.localdate(), shop=Shop.objects.current()),
        "rows": rows,
        "any_metal": any(row.batch.style.contains_metal for row in rows),
        "history": history_of_delivery(delivery)[:_LATEST],
        "may": offers(request),
    }
    return render(request, "inventory/floor/delivery.html", context)


def delivery_history(request: HttpRequest, number: int) -> HttpResponse:
    """Who did what to a delivery and its batches."""
    allowed(request, Deed.VIEW)
    delivery = found(ask.delivery_by_number(number), f"delivery D{number:04d}")
    context = {"delivery": delivery, **pager(request, page_of(request, history_of_delivery(delivery)))}
    return render(request, "inventory/floor/delivery_history.html", context)


def delivery_new(request: HttpRequest) -> HttpResponse:
    """Log an arrival."""
    person = allowed(request, Deed.RECEIVE)
    maker = Maker.objects.filter(code=request.GET.get("maker", "")).first()
    form = DeliveryForm(request.POST or None, initial={"maker": maker})
    if request.method == "POST" and form.is_valid():
        delivery = attempt(form, lambda: receive_delivery(by=person, at=timezone.now(), **form.cleaned_data))
        if delivery is not None:
            messages.success(
                request, f"Delivery {delivery.label} is received. Put it on hold and add its batches."
            )
            return redirect("delivery", delivery.number)
    context = {"form": form, "any_maker": Maker.objects.filter(is_active=True).exists(), "any_metal": True}
    return render(request, "inventory/floor/delivery_new.html", context)


def batch_new(request: HttpRequest, number: int) -> HttpResponse:
    """Add the pieces of one style to a delivery."""
    person = allowed(request, Deed.RECEIVE)
    delivery = found(ask.delivery_by_number(number), f"delivery D{number:04d}")
    form = BatchForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        batch = attempt(
            form,
            lambda: add_batch(delivery=delivery, by=person, at=timezone.now(), **form.cleaned_data),
        )
        if batch is not None:
            messages.success(
                request, f"Batch {batch.label} is added, judged by {batch.spec}. Number its pieces next."
            )
            return redirect("pieces-new", batch.number)
    context = {
        "delivery": delivery,
        "form": form,
        "any_style": Style.objects.filter(is_active=True, specs__state="in_force").exists(),
    }
    return render(request, "inventory/floor/batch_new.html", context)
