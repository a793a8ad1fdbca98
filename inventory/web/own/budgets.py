"""The budget of a point, and its reading error as the owner states it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed
from inventory.calc.errors import CalcError
from inventory.models import MeasurePoint
from inventory.queries.own.budgets import budget_of
from inventory.queries.own.knowing import error_source
from inventory.services.point_errors import state_error
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.own.study_forms import StatedErrorForm

if TYPE_CHECKING:
    from django.db.models import QuerySet
    from django.http import HttpRequest, HttpResponse


def point_budget(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """What a reading of the point may be off; `?size=`, `?tape=`, `?readings=` and `?people=` choose."""
    allowed(request, Deed.VIEW)
    point = _point(code, pk)
    asked = request.GET
    wrong = ""
    try:
        table = budget_of(
            point,
            size=asked.get("size", ""),
            tape=_whole(asked.get("tape", ""), 0),
            readings=_whole(asked.get("readings", ""), 2),
            people=_whole(asked.get("people", ""), 1),
        )
    except CalcError as refusal:
        wrong = str(refusal)
        table = budget_of(point)
    context = {
        "table": table,
        "point": point,
        "wrong": wrong,
        "source": error_source(point.known_error),
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/own/budget.html", context)


def point_error(request: HttpRequest, pk: int) -> HttpResponse:
    """State the reading error of a point, with a reason."""
    person = allowed(request, Deed.SET_UP)
    point = found(_points().filter(pk=pk).first(), "point of measure")
    now = point.as_reading_error()
    form = StatedErrorForm(
        typed_in(request),
        initial={
            "repeat_sd_nm": now.repeat_sd_nm,
            "person_sd_nm": now.person_sd_nm,
            "fixed_sd_nm": now.fixed_sd_nm,
        },
    )
    if request.method == "POST" and form.is_valid():
        stated = attempt(
            form, lambda: state_error(point=point, by=person, at=timezone.now(), **form.cleaned_data)
        )
        if stated is not None:
            messages.success(
                request, f"{point} is judged by what you stated from now on. Verdicts given stay."
            )
            return redirect("point-budget", point.style.code, point.pk)
    context = {"form": form, "point": point, "now": now, "source": error_source(point.known_error)}
    return render(request, "inventory/own/point_error.html", context)


def _points() -> QuerySet[MeasurePoint]:
    return MeasurePoint.objects.select_related("style", "known_error__study")


def _point(code: str, pk: int) -> MeasurePoint:
    return found(_points().filter(style__code__iexact=code, pk=pk).first(), f"point of style {code}")


def _whole(typed: str, otherwise: int) -> int:
    return int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 10 else otherwise
