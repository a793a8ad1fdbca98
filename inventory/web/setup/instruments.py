"""Tapes and rules: the list, numbering one, taking one out of use."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory.access import Deed
from inventory.calc.length import NM_PER_MM, Unit, nm_per_unit
from inventory.models import Instrument, Shop
from inventory.queries.instruments import rows_of_instruments
from inventory.services.instruments import (
    add_instrument,
    bring_back_instrument,
    change_instrument,
    retire_instrument,
)
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.setup.forms.instruments import InstrumentForm, RetireForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def instrument_list(request: HttpRequest) -> HttpResponse:
    """All instruments, those in use first."""
    allowed(request, Deed.VIEW)
    context = {
        "instruments": rows_of_instruments(today=timezone.localdate()),
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/setup/instruments.html", context)


def instrument_new(request: HttpRequest) -> HttpResponse:
    """Number a tape or rule."""
    person = allowed(request, Deed.SET_UP)
    form = InstrumentForm(typed_in(request), initial={"division_nm": _usual_division_nm()})
    if request.method == "POST" and form.is_valid():
        added = attempt(form, lambda: add_instrument(by=person, at=timezone.now(), **form.cleaned_data))
        if added is not None:
            messages.success(request, f"{added} is numbered.")
            return redirect("instruments")
    return render(request, "inventory/setup/instrument_form.html", {"form": form})


def instrument_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct what is noted of an instrument."""
    person = allowed(request, Deed.SET_UP)
    instrument = found(Instrument.objects.filter(pk=pk).first(), "instrument")
    form = InstrumentForm(typed_in(request), row=instrument)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form,
            lambda: change_instrument(
                instrument=instrument, by=person, at=timezone.now(), **form.cleaned_data
            ),
        )
        if changed is not None:
            messages.success(request, f"{changed} is saved.")
            return redirect("instruments")
    return render(request, "inventory/setup/instrument_form.html", {"form": form, "instrument": instrument})


def instrument_retire(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for the day, then take an instrument out of use."""
    person = allowed(request, Deed.SET_UP)
    instrument = found(Instrument.objects.filter(pk=pk).first(), "instrument")
    form = RetireForm(typed_in(request), initial={"on": timezone.localdate()})
    if request.method == "POST" and form.is_valid():
        retired = attempt(
            form,
            lambda: retire_instrument(
                instrument=instrument, on=form.cleaned_data["on"], by=person, at=timezone.now()
            ),
        )
        if retired is not None:
            messages.success(request, f"{retired} is out of use.")
            return redirect("instruments")
    return render(request, "inventory/setup/instrument_retire.html", {"form": form, "instrument": instrument})


def _usual_division_nm() -> int:
    """What most tapes of a shop of this unit are divided into; common practice, no source."""
    sixteenth_nm = nm_per_unit()[Unit.INCH] // 16
    return sixteenth_nm if Shop.objects.current().as_display().unit == Unit.INCH else NM_PER_MM


@require_POST
def instrument_bring_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a retired instrument back into use."""
    person = allowed(request, Deed.SET_UP)
    instrument = found(Instrument.objects.filter(pk=pk).first(), "instrument")
    bring_back_instrument(instrument=instrument, by=person, at=timezone.now())
    messages.success(request, f"{instrument} is in use again.")
    return redirect("instruments")
