"""Check garments: the list, setting one up, its charts; a sitting with one at the bench."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory.access import Deed, may
from inventory.models import Style
from inventory.queries.own import check_garment as ask
from inventory.queries.own.places import place_of_sitting
from inventory.services.check_garments import (
    begin_baseline_anew,
    finish_check_sitting,
    open_check_sitting,
    retire_check_garment,
    set_up_check_garment,
)
from inventory.services.refusals import Refused
from inventory.web.bench.piece import TAPE_IN_SESSION
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.own.bench import Addresses, look_back, receive, show
from inventory.web.own.garment_forms import AnewForm, GarmentForm, SittingForm, StyleForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import CheckGarment, CheckSitting


def garment_list(request: HttpRequest) -> HttpResponse:
    """All check garments, and which of them wait for today's sitting."""
    allowed(request, Deed.VIEW)
    context = {
        "rows": ask.garment_rows(today=timezone.localdate()),
        "may_set_up": may_set_up(request),
        "may_measure": may(request.user, Deed.MEASURE),
    }
    return render(request, "inventory/own/check_garments.html", context)


def garment_new(request: HttpRequest) -> HttpResponse:
    """Set up a check garment: `?style=12` first, then its points."""
    person = allowed(request, Deed.SET_UP)
    asked = request.GET.get("style", "")
    style = Style.objects.filter(pk=int(asked)).first() if _is_key(asked) else None
    if style is None:
        form = StyleForm(request.GET or None)
        return render(request, "inventory/own/check_garment_style.html", {"form": form})
    boxes = GarmentForm(typed_in(request), style=style)
    if request.method == "POST" and boxes.is_valid():
        garment = attempt(
            boxes,
            lambda: set_up_check_garment(style=style, by=person, at=timezone.now(), **boxes.cleaned_data),
        )
        if garment is not None:
            messages.success(request, f"{garment} is kept. Measure it at the start of each day.")
            return redirect("check-garment", garment.code)
    return render(request, "inventory/own/check_garment_new.html", {"form": boxes, "style": style})


def garment_page(request: HttpRequest, code: str) -> HttpResponse:
    """What a check garment says of our measuring, chart by chart."""
    allowed(request, Deed.VIEW)
    garment = _garment(code)
    state = ask.state_of(garment, until=timezone.now())
    context = {
        "garment": garment,
        "state": state,
        "pictures": [(column, column.as_picture()) for column in state.columns],
        "form": SittingForm(initial={"instrument": request.session.get(TAPE_IN_SESSION)}),
        "may_measure": may(request.user, Deed.MEASURE) and garment.retired_on is None,
        "may_set_up": may_set_up(request) and garment.retired_on is None,
    }
    return render(request, "inventory/own/check_garment.html", context)


def garment_anew(request: HttpRequest, code: str) -> HttpResponse:
    """Ask why, then let only sittings from now on count."""
    person = allowed(request, Deed.SET_UP)
    garment = _garment(code)
    form = AnewForm(typed_in(request))
    if request.method == "POST" and form.is_valid():
        begun = attempt(
            form,
            lambda: begin_baseline_anew(
                garment=garment, reason=form.cleaned_data["reason"], by=person, at=timezone.now()
            ),
        )
        if begun is not None:
            messages.success(request, f"The baseline of {garment} begins anew.")
            return redirect("check-garment", garment.code)
    return render(request, "inventory/own/check_garment_anew.html", {"form": form, "garment": garment})


def garment_retire(request: HttpRequest, code: str) -> HttpResponse:
    """Confirm, then measure it no more."""
    person = allowed(request, Deed.SET_UP)
    garment = _garment(code)
    if request.method == "POST":
        retire_check_garment(garment=garment, by=person, at=timezone.now())
        messages.success(request, f"{garment} is retired.")
        return redirect("check-garments")
    return render(request, "inventory/own/check_garment_retire.html", {"garment": garment})


@require_POST
def sitting_new(request: HttpRequest, code: str) -> HttpResponse:
    """Open the person's sitting with the garment, and go to it."""
    person = allowed(request, Deed.MEASURE)
    garment = _garment(code)
    form = SittingForm(request.POST)
    tape = form.cleaned_data["instrument"] if form.is_valid() else None
    try:
        sitting = open_check_sitting(garment=garment, instrument=tape, by=person, at=timezone.now())
    except Refused as refusal:
        messages.warning(request, str(refusal))
        return redirect("check-garment", garment.code)
    return redirect("check-sitting", garment.code, sitting.pk)


def sitting(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """The bench with the check garment on it."""
    person = allowed(request, Deed.MEASURE)
    one = _sitting(code, pk)
    return show(request, place_of_sitting(one), _addresses(one), person=person)


def sitting_readings(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Take a reading; looked at, what was read in this sitting, to correct it."""
    person = allowed(request, Deed.MEASURE)
    one = _sitting(code, pk)
    if request.method == "POST":
        return receive(request, place_of_sitting(one), _addresses(one), person=person, at=timezone.now())
    return look_back(request, place_of_sitting(one), _addresses(one))


def sitting_finish(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Close the sitting and show what it says; looked at, the garment's page."""
    person = allowed(request, Deed.MEASURE)
    one = _sitting(code, pk)
    if request.method == "POST":
        try:
            finish_check_sitting(sitting=one, by=person, at=timezone.now())
        except Refused as refusal:
            messages.warning(request, str(refusal))
            return redirect("check-sitting", code, pk)
    return redirect("check-garment", code)


def _garment(code: str) -> CheckGarment:
    return found(ask.garment_by_code(code), f"check garment {code}")


def _sitting(code: str, pk: int) -> CheckSitting:
    return found(ask.sitting_for_bench(_garment(code), pk), f"sitting of check garment {code}")


def _addresses(one: CheckSitting) -> Addresses:
    names = (one.garment.code, one.pk)
    return Addresses(
        page=reverse("check-sitting", args=names),
        send_to=reverse("check-sitting-readings", args=names),
        finish=reverse("check-sitting-finish", args=names),
        finish_words="Finish the sitting",
        finish_is_post=one.finished_at is None,
    )


def _is_key(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 19
