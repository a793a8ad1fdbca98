"""Put right what was typed wrong when a piece was numbered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.queries import pieces as ask
from inventory.services.piece_corrections import correct_piece
from inventory.templatetags.verdicts import verdict_word
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.floor.forms.corrections import PieceCorrectionForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.services.piece_corrections import Corrected


def piece_correct(request: HttpRequest, number: int) -> HttpResponse:
    """Correct the size or colour of one piece, with a reason."""
    person = allowed(request, Deed.RECEIVE)
    piece = found(ask.piece_by_number(number), f"piece P{number:06d}")
    sizes = list(piece.batch.spec.sizes.values_list("label", flat=True))
    form = PieceCorrectionForm(typed_in(request), piece=piece, sizes=sizes)
    if form.is_valid():
        corrected = attempt(
            form, lambda: correct_piece(piece=piece, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if corrected is not None:
            messages.success(request, _told(corrected))
            return redirect("piece", piece.number)
    context = {
        "piece": piece,
        "batch": piece.batch,
        "verdict": ask.current_verdict(piece),
        "form": form,
    }
    return render(request, "inventory/floor/piece_correct.html", context)


def _told(corrected: Corrected) -> str:
    piece, verdict = corrected.piece, corrected.verdict
    said = f"{piece.label} is size {piece.size_label}{f', {piece.colour}' if piece.colour else ''}."
    if verdict is not None:
        said += f" Judged again by that size: {verdict_word(verdict.shelf)}."
    if corrected.put_on_hold:
        said += " It had been released and is on hold again."
    return f"{said} Print its label anew if it is tagged already."
