"""Decide what is done with one piece, or with many of a batch at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.html import format_html_join

from inventory.access import Deed
from inventory.models.pieces import Standing
from inventory.queries import batches as ask_batches
from inventory.queries import pieces as ask
from inventory.queries.point_table import not_in_tolerance
from inventory.queries.sampling.standing import sampling_of
from inventory.services.disposition_rules import GONE, released_on_the_sample
from inventory.services.dispositions import decide_disposition, decide_dispositions
from inventory.templatetags.verdicts import DISPOSITION_WORDS
from inventory.web.entrance import allowed, attempt, found
from inventory.web.floor.forms.decisions import DispositionForm
from inventory.web.floor.offers import offers

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse
    from django.utils.safestring import SafeString

    from inventory.models import Batch, Piece, PieceVerdict, User
    from inventory.queries.batches import PieceCounts

MOST_AT_ONCE: Final = 1_000
_SHELF: Final = ("in", "close", "out", "none", "again")


def disposition_new(request: HttpRequest, number: int) -> HttpResponse:
    """Decide what is done with one piece; what leaves the house is asked for twice."""
    person = allowed(request, Deed.RELEASE_GOOD)
    piece = found(ask.piece_by_number(number), f"piece P{number:06d}")
    verdict = ask.current_verdict(piece)
    form = DispositionForm(
        request.POST or None,
        person=person,
        sizes=_sizes(piece.batch, without=piece.size_label),
        decision=_asked_decision(request),
        new_size_label=_proposed_size(piece, verdict),
    )
    context = {
        "piece": piece,
        "batch": piece.batch,
        "verdict": verdict,
        "not_in": not_in_tolerance(verdict, piece.batch) if verdict else [],
        "defects": ask.defects_of(piece),
        "form": form,
    }
    if request.method == "POST" and form.is_valid():
        if _to_be_confirmed(request, form):
            return render(
                request, "inventory/floor/disposition_confirm.html", context | _again(request, form)
            )
        made = attempt(
            form, lambda: decide_disposition(piece=piece, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if made is not None:
            messages.success(request, f"{piece.label}: {DISPOSITION_WORDS[made.decision]}.")
            return redirect("piece", piece.number)
    return render(request, "inventory/floor/disposition_new.html", context)


def batch_dispositions(request: HttpRequest, number: int) -> HttpResponse:
    """Decide for many pieces on hold at once, for all of them or for none."""
    person = allowed(request, Deed.RELEASE_GOOD)
    batch = found(ask_batches.batch_by_number(number), f"batch B{number:04d}")
    counts = ask_batches.counts_of([batch.pk])[batch.pk]
    shelf = _shelf_asked(request, counts)
    held = ask.pieces_matching(batch=batch, standing=Standing.HOLD, shelf=shelf).order_by("number")
    on_the_sample = shelf == "none" and _accepted(batch)
    form = DispositionForm(
        request.POST or None,
        person=person,
        sizes=_sizes(batch),
        decision=Standing.RELEASE if shelf == "in" or on_the_sample else "",
    )
    chosen = {int(pk) for pk in request.POST.getlist("piece") if pk.isdecimal() and len(pk) < 19}
    listed = list(held[:MOST_AT_ONCE])
    # Only what is in tolerance, or left unmeasured by an accepted sample, is ticked beforehand: anything else
    # is chosen piece by piece.
    ticked = {piece.pk for piece in listed} if shelf == "in" else set()
    if on_the_sample:
        ticked = set(released_on_the_sample(listed))
    context = {
        "batch": batch,
        "shelf": shelf,
        "counts": counts,
        "held_unjudged": counts.hold_by_shelf[""],
        "pieces": listed,
        "more": max(held.count() - MOST_AT_ONCE, 0) if len(listed) == MOST_AT_ONCE else 0,
        "chosen": chosen if request.method == "POST" else ticked,
        "form": form,
        "may": offers(request),
    }
    if request.method == "POST" and form.is_valid():
        if _to_be_confirmed(request, form):
            context |= {"count": len(chosen), **_again(request, form)}
            return render(request, "inventory/floor/disposition_confirm.html", context)
        made = attempt(form, lambda: _decide_for(batch, chosen, form.cleaned_data, by=person))
        if made is not None:
            word = DISPOSITION_WORDS[form.cleaned_data["decision"]]
            messages.success(request, f"{made} piece{'' if made == 1 else 's'} of {batch.label}: {word}.")
            return redirect("batch", batch.number)
    return render(request, "inventory/floor/batch_dispositions.html", context)


def _accepted(batch: Batch) -> bool:
    sampling = sampling_of(batch)
    decision = getattr(sampling, "decision", None)
    return decision is not None and decision.outcome == decision.Outcome.ACCEPTED


def _decide_for(
    batch: Batch,
    chosen: set[int],
    said: dict[str, Any],  # Any: values of every field type
    *,
    by: User,
) -> int:
    pieces: list[Piece] = list(batch.pieces.filter(pk__in=chosen))
    return len(decide_dispositions(pieces=pieces, by=by, at=timezone.now(), **said))


def _proposed_size(piece: Piece, verdict: PieceVerdict | None) -> str:
    """The size that fits, while the label is still the one it does not fit."""
    if verdict is None or not verdict.size_suspected or verdict.basis.size_label != piece.size_label:
        return ""
    return verdict.fits_size


def _sizes(batch: Batch, *, without: str = "") -> list[str]:
    return [label for label in batch.spec.sizes.values_list("label", flat=True) if label != without]


def _shelf_asked(request: HttpRequest, counts: PieceCounts) -> str:
    """The verdict asked for, or the first that has a piece on hold."""
    asked = request.GET.get("shelf", "")
    if asked in _SHELF:
        return asked
    return next((shelf for shelf in _SHELF if counts.hold_by_shelf["" if shelf == "none" else shelf]), "in")


def _asked_decision(request: HttpRequest) -> str:
    asked = request.GET.get("decision", "")
    return asked if asked in Standing.values else ""


def _to_be_confirmed(request: HttpRequest, form: DispositionForm) -> bool:
    return form.cleaned_data["decision"] in GONE and "confirmed" not in request.POST


def _again(request: HttpRequest, form: DispositionForm) -> dict[str, Any]:  # Any: a context
    """What was typed, to be sent once more with the confirmation."""
    typed = [
        (name, value)
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken"
        for value in values
    ]
    fields: SafeString = format_html_join(
        "\n", '<input type="hidden" name="{}" value="{}">', [*typed, ("confirmed", "yes")]
    )
    return {"again": fields, "decision": form.cleaned_data["decision"]}
