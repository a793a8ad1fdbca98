"""Studies: the list, how far one is, what it found; ending it, giving it up, using its result."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.access import Deed, may
from inventory.models import Shop
from inventory.queries.own import studies as ask
from inventory.queries.own.knowing import error_source
from inventory.queries.own.study_pictures import pictures_of
from inventory.queries.own.study_results import doubtful_of, results_of
from inventory.queries.own.study_words import said_of
from inventory.services.point_errors import use_study
from inventory.services.refusals import Refused
from inventory.services.studies import finish_study, give_up_study
from inventory.web.entrance import allowed, attempt, found, may_set_up, typed_in
from inventory.web.own.study_forms import GiveUpForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.calc.gauge_study import Study as Found
    from inventory.models import Study
    from inventory.queries.own.study_results import PointResult


def study_list(request: HttpRequest) -> HttpResponse:
    """All studies, the newest first."""
    allowed(request, Deed.VIEW)
    context = {"studies": ask.studies_listed(), "may_set_up": may_set_up(request)}
    return render(request, "inventory/own/studies.html", context)


def study_page(request: HttpRequest, number: int) -> HttpResponse:
    """How far a study is; once it is finished what it found, `?point=WA` one of its points."""
    person = allowed(request, Deed.VIEW)
    study = _study(number)
    if study.state == study.State.FINISHED:
        return render(request, "inventory/own/study_result.html", _result_context(request, study))
    state = ask.state_of(study)
    running = study.state == study.State.RUNNING
    doubtful = doubtful_of(study) if running and state.is_complete else []
    context = {
        "study": study,
        "state": state,
        "running": running,
        "left": state.left_of(person.pk) if running and may(person, Deed.MEASURE) else None,
        "doubtful": doubtful,
        "person": person,
        "may_set_up": may_set_up(request),
    }
    return render(request, "inventory/own/study.html", context)


def study_finish(request: HttpRequest, number: int) -> HttpResponse:
    """Ask first, then end the study and show what it found."""
    person = allowed(request, Deed.SET_UP)
    study = _study(number)
    if request.method == "POST":
        try:
            finish_study(study=study, by=person, at=timezone.now())
        except Refused as refusal:
            messages.error(request, str(refusal))
        return redirect("study", study.number)
    context = {"study": study, "state": ask.state_of(study)}
    return render(request, "inventory/own/study_finish.html", context)


def study_give_up(request: HttpRequest, number: int) -> HttpResponse:
    """Ask why, then give the study up."""
    person = allowed(request, Deed.SET_UP)
    study = _study(number)
    form = GiveUpForm(typed_in(request))
    if request.method == "POST" and form.is_valid():
        given_up = attempt(
            form,
            lambda: give_up_study(
                study=study, reason=form.cleaned_data["reason"], by=person, at=timezone.now()
            ),
        )
        if given_up is not None:
            messages.success(request, f"{study.label} is given up.")
            return redirect("study", study.number)
    return render(request, "inventory/own/study_give_up.html", {"study": study, "form": form})


def study_effect(request: HttpRequest, number: int) -> HttpResponse:
    """Old reading errors against those found; the ticked ones hold from now on."""
    person = allowed(request, Deed.SET_UP)
    study = _study(number)
    refused = ""
    if request.method == "POST":
        try:
            stored = use_study(
                study=study, codes=request.POST.getlist("points"), by=person, at=timezone.now()
            )
        except Refused as refusal:
            refused = str(refusal)
        else:
            codes = ", ".join(error.point.code for error in stored)
            messages.success(request, f"{codes}: judged by {study.label} from now on. Verdicts given stay.")
            return redirect("study-effect", study.number)
    finished = study.state == study.State.FINISHED
    context = {
        "study": study,
        "lines": [_effect_line(result, study) for result in results_of(study)] if finished else [],
        "finished": finished,
        "refused": refused,
        "ticked": request.POST.getlist("points"),
    }
    return render(request, "inventory/own/study_effect.html", context)


def _effect_line(result: PointResult, study: Study) -> dict[str, Any]:  # Any: a context
    known = result.point.known_error
    return {
        "point": result.point,
        "refused": result.refused,
        "before": result.point.as_reading_error(),
        "source": error_source(known),
        "since": None if known is None else known.effective_at,
        "after": None if result.chosen is None else result.chosen.error,
        "in_use": known is not None and known.study_id == study.pk,
    }


def _result_context(request: HttpRequest, study: Study) -> dict[str, Any]:  # Any: a context
    results = results_of(study)
    wanted = request.GET.get("point")
    chosen = next((result for result in results if result.point.code == wanted), results[0])
    names = {
        row.person.username: row.person.shown_name for row in study.study_people.select_related("person")
    }
    display = Shop.objects.current().as_display()
    context: dict[str, Any] = {  # Any: as above
        "study": study,
        "results": results,
        "points": [result.point for result in results],
        "result": chosen,
        "may_set_up": may_set_up(request),
        "names": names,
        "in_use": sum(1 for one in results if _effect_line(one, study)["in_use"]),
    }
    if chosen.chosen is not None and chosen.kept is not None and chosen.pooled is not None:
        context |= {
            "found": chosen.chosen,
            "said": said_of(chosen.chosen, names, display),
            "pictures": pictures_of(chosen.chosen, names),
            "analyses": _analyses(chosen.chosen, kept=chosen.kept, pooled=chosen.pooled),
        }
    return context


def _analyses(counts: Found, *, kept: Found, pooled: Found) -> list[tuple[str, Found, bool]]:
    """Both ways of reckoning that can be had, and which one counts; without any spread there is only one."""
    ways = []
    if not kept.anova.pooled:
        ways.append(("Piece × person kept apart", kept, not counts.anova.pooled))
    if pooled.anova.pooled:
        ways.append(("Piece × person pooled with the repeats", pooled, counts.anova.pooled))
    return ways


def _study(number: int) -> Study:
    return found(ask.study_by_number(number), f"study S{number:03d}")
