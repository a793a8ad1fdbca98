"""The bench itself: one piece, one box."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404
from django.shortcuts import render
from django.views.decorators.cache import never_cache

from inventory.queries.bench.asking import Asked, to_correct, what_next
from inventory.queries.bench.lists import current_verdict_of
from inventory.queries.plans import SizeNotInSpec
from inventory.web.bench.entrance import lying_there, measurer
from inventory.web.bench.screen import context_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.queries.bench.sheet import Sheet

TAPE_IN_SESSION = "bench_tape"


@never_cache
def bench_piece(request: HttpRequest, number: int) -> HttpResponse:
    """What to measure now; `?after=WA-L` the step just read, `?at=WA-L` another, `?correct=12` a reading.

    Never kept by the browser: Back and Forward would show a walk that has gone on since.
    A piece that was judged before is measured again only when asked for: `?again=1`.
    """
    person = measurer(request)
    try:
        sheet = lying_there(number)
    except SizeNotInSpec as nothing:
        return render(request, "inventory/bench/no_spec.html", {"wrong": str(nothing)}, status=409)
    if sheet.inspection is None and "again" not in request.GET:
        verdict = current_verdict_of(sheet.piece)
        if verdict is not None:
            context = {"piece": sheet.piece, "verdict": verdict}
            return render(request, "inventory/bench/judged.html", context)
    context = context_of(
        sheet,
        asked=_asked(request, sheet),
        person=person,
        after=sheet.step_named(request.GET.get("after", "")),
        tape=request.session.get(TAPE_IN_SESSION),
    )
    return render(request, "inventory/bench/piece.html", context)


def _asked(request: HttpRequest, sheet: Sheet) -> Asked:
    reading = request.GET.get("correct", "")
    if reading:
        asked = to_correct(sheet, int(reading)) if reading.isascii() and reading.isdecimal() else None
        if asked is None:
            raise Http404(
                f"There is no reading {reading[:20]} to correct in this sitting; it may have been "
                "corrected already."
            )
        return asked
    return what_next(
        sheet,
        after=sheet.step_named(request.GET.get("after", "")),
        at=sheet.step_named(request.GET.get("at", "")),
    )
