"""The sample of a batch: the plan before it is drawn, the draw, how it stands, the decision, the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory.access import Deed
from inventory.models.sampling_plans import read_plan
from inventory.queries import batches as ask_batches
from inventory.queries.sampling.figures import alternatives_to, curves_of, say_chance_of
from inventory.queries.sampling.found import COUNTED_WORDS, drawn_rows
from inventory.queries.sampling.planning import proposal_for
from inventory.queries.sampling.rest import rest_of
from inventory.queries.sampling.standing import sampling_of, standing_of_sample
from inventory.services.refusals import Refused
from inventory.services.sampling.decisions import decide_batch
from inventory.services.sampling.draws import draw_sample
from inventory.web.entrance import allowed, attempt, found
from inventory.web.floor.offers import offers
from inventory.web.sampling.forms import DecideForm, DrawForm, HowManyForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import Batch, BatchSampling
    from inventory.models.sampling_plans import BatchPlan


def batch_sampling(request: HttpRequest, number: int) -> HttpResponse:
    """Before the draw the plan and what it does; after it how the sample stands and what it says.

    `?bad=6` asks what becomes of a batch with so many bad pieces.
    """
    allowed(request, Deed.VIEW)
    batch = _batch(number)
    sampling = sampling_of(batch)
    if sampling is None:
        return _before(request, batch, DrawForm())
    standing = standing_of_sample(batch, sampling)
    context = {
        "batch": batch,
        "sampling": sampling,
        "standing": standing,
        "rest": rest_of(standing),
        "counted_words": COUNTED_WORDS,
        "decide_form": DecideForm(),
        "may": offers(request),
        **_figures(request, standing.plan),
    }
    return render(request, "inventory/sampling/batch.html", context)


def _before(request: HttpRequest, batch: Batch, form: DrawForm) -> HttpResponse:
    proposal = proposal_for(batch)
    plan = proposal.plan
    context: dict[str, Any] = {  # Any: a context
        "batch": batch,
        "proposal": proposal,
        "plan": plan,
        "form": form,
        "may": offers(request),
        "alternatives": ()
        if plan is None or plan.every_piece or proposal.scheme is None
        else alternatives_to(plan, proposal.scheme, proposal.switching),
    }
    if plan is not None:
        context |= _figures(request, plan)
    return render(request, "inventory/sampling/plan.html", context)


def sampling_draw(request: HttpRequest, number: int) -> HttpResponse:
    """Draw the sample; it is done once. Shown, it is the page with the plan."""
    person = allowed(request, Deed.MEASURE)
    batch = _batch(number)
    if sampling_of(batch) is not None:
        messages.error(request, f"The sample of {batch.label} is drawn already. It stays as it is.")
        return redirect("batch-sampling", batch.number)
    if request.method != "POST":
        return redirect("batch-sampling", batch.number)
    form = DrawForm(request.POST)
    if form.is_valid():
        made = attempt(
            form, lambda: draw_sample(batch=batch, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if made is not None:
            count = len(made.pieces)
            messages.success(
                request,
                f"Drawn: {count} piece{'' if count == 1 else 's'}, with seed {made.sampling.seed}. "
                "Print the list and fetch them.",
            )
            return redirect("sampling-list", batch.number)
    return _before(request, batch, form)


def sampling_list(request: HttpRequest, number: int) -> HttpResponse:
    """The drawn pieces in order, to print: where each lies, and how the maker repeats the draw."""
    allowed(request, Deed.VIEW)
    batch = _batch(number)
    sampling = sampling_of(batch)
    if sampling is None:
        return redirect("batch-sampling", batch.number)
    context = {
        "batch": batch,
        "sampling": sampling,
        "plan": read_plan(sampling.document),
        "rows": drawn_rows(batch),
        "repeat": _repeat(sampling),
    }
    return render(request, "inventory/sampling/list.html", context)


@require_POST
def sampling_decide(request: HttpRequest, number: int) -> HttpResponse:
    """Accept or refuse the batch as the sample says."""
    person = allowed(request, Deed.DECIDE)
    batch = _batch(number)
    form = DecideForm(request.POST)
    original = not (form.is_valid() and form.cleaned_data["again"])
    try:
        made = decide_batch(batch=batch, original=original, by=person, at=timezone.now())
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"{batch.label} is {made.outcome}.")
    return redirect("batch-sampling", batch.number)


def _figures(request: HttpRequest, plan: BatchPlan) -> dict[str, Any]:  # Any: a context
    asked = HowManyForm(request.GET if "bad" in request.GET else None, batch_size=plan.batch_size)
    bad = asked.cleaned_data["bad"] if asked.is_valid() else None
    return {
        "curves": curves_of(plan),
        "how_many": asked,
        "answers": [] if bad is None else say_chance_of(plan, bad),
        "asked_bad": bad,
    }


def _repeat(sampling: BatchSampling) -> str:
    words: str = sampling.document["how_to_repeat"]
    return words


def _batch(number: int) -> Batch:
    return found(ask_batches.batch_by_number(number), f"batch B{number:04d}")
