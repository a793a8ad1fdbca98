"""Planning a study: first the style, then pieces, people, rounds and points; worked out beforehand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.models import Shop
from inventory.queries.own import studies as ask
from inventory.queries.styles import style_by_code
from inventory.services.studies import check_plan, plan_study
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.own.study_estimate import sizes_around
from inventory.web.own.study_forms import PlanForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import Style
    from inventory.web.own.study_estimate import Size

WORK_OUT = "work-out"


def study_new(request: HttpRequest) -> HttpResponse:
    """Plan a study of `?style=…`; "Work it out" says what it takes and tells, and stores nothing."""
    person = allowed(request, Deed.SET_UP)
    code = request.GET.get("style", "")
    if not code:
        return render(request, "inventory/own/study_style.html", {"styles": ask.styles_to_study()})
    style = found(style_by_code(code), f"style {code[:30]}")
    form = PlanForm(typed_in(request), style=style)
    sizes: tuple[Size, ...] | None = None
    if request.method == "POST" and form.is_valid():
        sizes = attempt(form, lambda: _worked_out(form, style))
        if sizes is not None and request.POST.get("deed") != WORK_OUT:
            study = attempt(
                form,
                lambda: plan_study(
                    style=style,
                    rounds=form.cleaned_data["rounds"],
                    seed=form.cleaned_data["seed"],
                    unit=Shop.objects.current().display_unit,
                    by=person,
                    at=timezone.now(),
                    **form.chosen(),
                ),
            )
            if study is not None:
                messages.success(request, f"{study.label} is planned. Everybody finds their own turns here.")
                return redirect("study", study.number)
    context: dict[str, Any] = {"form": form, "style": style, "sizes": sizes}  # Any: a context
    return render(request, "inventory/own/study_new.html", context)


def _worked_out(form: PlanForm, style: Style) -> tuple[Size, ...]:
    chosen = form.chosen()
    check_plan(style=style, **chosen)
    return sizes_around(
        pieces=len(chosen["pieces"]),
        people=len(chosen["people"]),
        rounds=form.cleaned_data["rounds"],
        points=chosen["points"],
    )
