"""Whose fault is it: the causes of a batch, our own measuring first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.shortcuts import render

from inventory.access import Deed
from inventory.calc.causes import WORDS
from inventory.queries.batches import batch_by_number
from inventory.queries.causes import wording
from inventory.queries.causes.answer import whose_fault
from inventory.queries.causes.shifts import shifts_of
from inventory.web.entrance import allowed, found
from inventory.web.floor.offers import offers

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def batch_causes(request: HttpRequest, number: int) -> HttpResponse:
    """What may be behind a batch's deviations, by likelihood, and the reading that would settle it."""
    allowed(request, Deed.VIEW)
    batch = found(batch_by_number(number), f"batch B{number:04d}")
    answer = whose_fault(batch)
    ranking = answer.ranking
    context = {
        "batch": batch,
        "answer": answer,
        "ranking": ranking,
        "said": "" if ranking is None else wording.answer_in_words(ranking),
        "not_looked_for": [] if ranking is None else [WORDS[cause] for cause in ranking.not_looked_for],
        "shifts": None if answer.evidence is None else shifts_of(answer.evidence),
        "may": offers(request),
    }
    return render(request, "inventory/floor/batch_causes.html", context)
