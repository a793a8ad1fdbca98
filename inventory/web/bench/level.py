"""Help with the level: a fold beside the box, and a page of its own for whoever has no script."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from inventory.calc import length
from inventory.calc.errors import CalcError
from inventory.calc.level import WorkingKind
from inventory.queries.bench.asking import what_next
from inventory.queries.bench.level_help import HELPERS, level_asked
from inventory.web.bench.entrance import lying_there, measurer
from inventory.web.bench.piece import TAPE_IN_SESSION
from inventory.web.bench.screen import context_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.queries.bench.sheet import Sheet
    from inventory.queries.bench.walk import Step


@never_cache
@require_safe
def bench_level(request: HttpRequest, number: int) -> HttpResponse:
    """The helpers for `?step=WA-L`; with `kind` and its lengths the working, and a box to store with it."""
    person = measurer(request)
    sheet = lying_there(number)
    step = sheet.step_named(request.GET.get("step", "")) or next(iter(sheet.missing or sheet.walk), None)
    if step is None:
        return redirect("bench-piece", number)
    found = worked_out(request, sheet, step)
    context = context_of(
        sheet,
        asked=what_next(sheet, at=step),
        person=person,
        tape=request.session.get(TAPE_IN_SESSION),
        typed=found.get("corrected", ""),
    )
    return render(request, "inventory/bench/level.html", context | found)


def worked_out(request: HttpRequest, sheet: Sheet, step: Step) -> dict[str, Any]:  # Any: a context
    """What the panel shows: the helpers with what was typed, and the working or what is wrong."""
    kind = request.GET.get("kind", "")
    shown: dict[str, Any] = {"helpers": HELPERS, "level_kind": kind, "level_typed": request.GET.dict()}
    shown["in_place"] = "in_place" in request.GET
    if not kind:
        return shown
    try:
        asked = level_asked(request.GET.dict())
        unit, display = length.Unit(sheet.unit), sheet.shop.as_display()
        found = asked.work_out(sheet.plan(step.point.code), unit=unit, display=display)
    except CalcError as refusal:
        known = any(helper.kind == kind for helper in HELPERS)
        return shown | {"level_wrong": str(refusal), "level_unknown": not known}
    shown |= {"working": found, "working_text": asked.as_text(), "lines_of_working": found.lines(display)}
    if found.kind is WorkingKind.SLANT:
        step_nm = length.nm_per_unit()[unit] // 64 if unit is length.Unit.INCH else length.NM_PER_MM // 10
        shown["corrected"] = length.show_exact(length.round_to(found.result_nm, step_nm=step_nm), unit=unit)
    return shown
