"""A tape's own page: its checks, what they found, what follows; and the check itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory import tasks
from inventory.access import Deed, may
from inventory.calc.length import Unit
from inventory.models import Instrument, Job, Shop
from inventory.queries import instruments as ask
from inventory.queries.own.doubts import batches_in_doubt
from inventory.queries.own.tape_pages import chart_of, findings_of
from inventory.services.refusals import Refused
from inventory.services.rejudging import REJUDGE, request_rejudging
from inventory.services.tape_checks import check_tape
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.own.tape_forms import TapeCheckForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def instrument_page(request: HttpRequest, pk: int) -> HttpResponse:
    """What is known of an instrument: class, checks with a picture, batches it may have misled."""
    allowed(request, Deed.VIEW)
    row = found(ask.row_of(pk, today=timezone.localdate()), "instrument")
    checks = ask.checks_of(row.instrument)
    shop = Shop.objects.current()
    context = {
        "row": row,
        "instrument": row.instrument,
        "checks": checks,
        "chart": chart_of(checks),
        "doubted": batches_in_doubt(row.instrument, shop=shop),
        "job": Job.objects.filter(kind=REJUDGE, arguments__instrument=pk).order_by("-pk").first(),
        "may_check": may(request.user, Deed.MEASURE) and row.is_tape and row.instrument.retired_on is None,
        "may_decide": may(request.user, Deed.DECIDE),
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/own/instrument.html", context)


def tape_check(request: HttpRequest, pk: int) -> HttpResponse:
    """Type in what the tape reads along the rule."""
    person = allowed(request, Deed.MEASURE)
    tape = found(Instrument.objects.filter(pk=pk, kind__in=ask.TAPES).first(), "tape")
    unit = Unit(Shop.objects.current().display_unit)
    form = TapeCheckForm(typed_in(request), tape=tape, unit=unit)
    if request.method == "POST" and form.is_valid():
        check = attempt(
            form,
            lambda: check_tape(
                instrument=tape,
                lengths=form.lengths(),
                unit=unit,
                against=form.cleaned_data["against"],
                allowed_nm=form.cleaned_data.get("allowed"),
                note=form.cleaned_data["note"],
                by=person,
                at=timezone.now(),
            ),
        )
        if check is not None:
            return redirect("tape-check-result", pk, check.pk)
    return render(request, "inventory/own/tape_check.html", {"form": form, "tape": tape})


def tape_check_result(request: HttpRequest, pk: int, check: int) -> HttpResponse:
    """What a check said: good, not good, cannot tell; and the correction that follows."""
    allowed(request, Deed.VIEW)
    made = found(ask.check_by_id(check, instrument=pk), "tape check")
    context = {
        "check": made,
        "instrument": made.instrument,
        "result": findings_of(made),
        "doubted": batches_in_doubt(made.instrument, shop=Shop.objects.current()),
        "may_decide": may(request.user, Deed.DECIDE),
        "may_measure": may(request.user, Deed.MEASURE),
    }
    return render(request, "inventory/own/tape_check_result.html", context)


@require_POST
def rejudge(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for everything to be judged again that the tape read before it was found wrong."""
    person = allowed(request, Deed.DECIDE)
    instrument = found(Instrument.objects.filter(pk=pk).first(), "instrument")
    try:
        tasks.nudge(request_rejudging(instrument=instrument, by=person))
    except Refused as refusal:
        messages.warning(request, str(refusal))
    else:
        messages.info(request, "The pieces are judged again in the background; what changed appears here.")
    return redirect(f"{reverse('instrument', args=[pk])}#again")
