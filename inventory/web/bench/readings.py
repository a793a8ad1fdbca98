"""Readings sent from the bench, by its script (answered in JSON) or by a plain form; and a look back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.access import NotAllowed
from inventory.calc.errors import CalcError
from inventory.models import SlipQuestion, User
from inventory.queries.bench.asking import Ask, Asked, outcome_at, to_correct, what_next
from inventory.queries.bench.history import readings_of
from inventory.queries.bench.sheet import PieceNotFound, Sheet, unread_columns
from inventory.queries.plans import SizeNotInSpec, plans_of
from inventory.services import inspections
from inventory.services.inspections import ReadAlready, Recorded
from inventory.services.refusals import Refused
from inventory.templatetags.verdicts import verdict_mark, verdict_word
from inventory.web.bench.entrance import lying_there, measurer
from inventory.web.bench.messages import (
    BadMessage,
    refusal_as_json,
    status_of,
    typed_reading,
    wants_json,
)
from inventory.web.bench.piece import TAPE_IN_SESSION
from inventory.web.bench.screen import context_of
from inventory.web.bench.walk_list import mark_of, marks_of_both

if TYPE_CHECKING:
    from django.http import QueryDict

    from inventory.queries.bench.walk import Step

KEEP = frozenset({"k", "keep"})


@require_http_methods(["GET", "HEAD", "POST"])
def bench_readings(request: HttpRequest, number: int) -> HttpResponse:
    """POST: store a reading, or the answer to a slip question. GET: what was read so far."""
    person = measurer(request)
    if request.method != "POST":
        return _look_back(request, number)
    try:
        if _keeps(request.POST):
            return _keep(request, number, person)
        recorded = _store(request, number, person)
    except NotAllowed:
        raise
    except (Refused, CalcError, SizeNotInSpec, PieceNotFound) as refusal:
        return _refused(request, number, person, refusal)
    if wants_json(request):
        return JsonResponse(_answer(recorded, person, seen=request.POST.get("seen", "")))
    step = f"{recorded.reading.point.code}-{recorded.reading.side}"
    return redirect(f"{reverse('bench-piece', args=[number])}?after={step}")


def _store(request: HttpRequest, number: int, person: User) -> Recorded:
    message = typed_reading(request.POST, number)
    recorded = inspections.take_reading(message, by=person, at=timezone.now())
    # Remembered for the next piece; written only when it changes, as each write costs a statement.
    if message.instrument and request.session.get(TAPE_IN_SESSION) != message.instrument:
        request.session[TAPE_IN_SESSION] = message.instrument
    return recorded


def _keeps(post: QueryDict) -> bool:
    """Whether a slip question is answered by keeping the figure: the button, or the letter K in the box.

    A figure in the box is a new reading, whatever else came with it: it must never be lost.
    """
    typed = post.get("typed", "").strip().lower()
    if not post.get("question"):
        return False
    return typed in KEEP or (not typed and post.get("answer") == SlipQuestion.Answer.KEPT)


def _keep(request: HttpRequest, number: int, person: User) -> HttpResponse:
    asked_for = request.POST["question"]
    questions = SlipQuestion.objects.select_related("reading__point")
    question = (
        questions.filter(pk=int(asked_for), reading__inspection__piece__number=number).first()
        if asked_for.isascii() and asked_for.isdecimal()
        else None
    )
    if question is None:
        raise BadMessage("That question is not of this piece. Load the page again.")
    inspections.answer_slip_question(
        question=question, answer=SlipQuestion.Answer.KEPT, by=person, at=timezone.now()
    )
    if wants_json(request):
        return JsonResponse({"kept": question.pk})
    step = f"{question.reading.point.code}-{question.reading.side}"
    return redirect(f"{reverse('bench-piece', args=[number])}?after={step}")


def _refused(request: HttpRequest, number: int, person: User, refusal: Exception) -> HttpResponse:
    """Say why nothing was stored, and give back what was typed."""
    if wants_json(request):
        return refusal_as_json(refusal)
    if isinstance(refusal, ReadAlready):
        messages.warning(request, str(refusal))
        return redirect("bench-piece", number)
    sheet = lying_there(number)
    post = request.POST
    corrects = post.get("corrects", "")
    asked = to_correct(sheet, int(corrects)) if corrects.isdecimal() and not post.get("question") else None
    if asked is None:
        asked = what_next(sheet, at=None if post.get("question") else sheet.step_named(post.get("step", "")))
    context = context_of(
        sheet,
        asked=asked,
        person=person,
        tape=request.session.get(TAPE_IN_SESSION),
        typed=post.get("typed", ""),
        reason=post.get("reason", ""),
        wrong=str(refusal),
        sent=post.dict(),
    )
    return render(request, "inventory/bench/piece.html", context, status=status_of(refusal))


def _answer(recorded: Recorded, person: User, *, seen: str) -> dict[str, Any]:  # Any: what JSON can hold
    """What the page's script needs to go on, built from what was just read; the database is asked no more."""
    sheet = sheet_after(recorded)
    reading = recorded.reading
    step = sheet.step(reading.point.code, reading.side)
    if step is None:  # stored long ago, and the style measures the point no longer
        return {"key": str(reading.client_key), "created": False, "ask": Ask.READ, "done": []}
    asked = what_next(sheet, after=step)
    outcome = outcome_at(sheet, step, asked=asked)
    assert outcome is not None  # the step was read just now
    return {
        "key": str(reading.client_key),
        "reading": reading.pk,
        "created": recorded.created,
        "sitting": reading.inspection_id,
        "unit": sheet.unit,
        "step": step.key,
        "ask": asked.kind,
        "next": asked.step.key if asked.step else "",
        "done": sorted(f"{code}-{side}" for code, side in sheet.done),
        "marks": _marks(sheet, step, outcome.findings),
        "slip": render_to_string(
            "inventory/bench/parts/slip.html", {"outcome": outcome, "display": sheet.shop.as_display()}
        ),
        "spoken": _spoken(asked, outcome.verdict),
        "others": _others(recorded, person, seen=seen),
        "seen": max(each.pk for each in sheet.readings),
    }


def sheet_after(recorded: Recorded) -> Sheet:
    """The sheet after a reading; only sides that cannot be read are looked up, and only if there are any."""
    inspection = recorded.reading.inspection
    plans = plans_of(inspection.piece.batch)
    has_unread = getattr(inspection, "has_unread", True)
    return Sheet(
        piece=inspection.piece,
        shop=recorded.shop,
        spec_plans=plans,
        inspection=inspection,
        readings=recorded.readings,
        questions=recorded.questions,
        unread=unread_columns(inspection, plans) if has_unread else frozenset(),
    )


def _marks(sheet: Sheet, step: Step, findings: Any) -> dict[str, str]:  # Any: a tuple of findings
    sides = sheet.taken_at(step.point.code)
    marks = {f"{step.point.code}-D": str(marks_of_both(step, findings))}
    return marks | {
        f"{step.point.code}-{side}": str(verdict_mark(mark_of(each, findings)))
        for side in sides
        if (each := sheet.step(step.point.code, side)) is not None
    }


def _spoken(asked: Asked, verdict: Any) -> str:  # Any: a verdict or None
    """What is read aloud of the answer."""
    if asked.kind is Ask.QUESTION:
        return "Please look at the question."
    if asked.kind is Ask.AGAIN:
        return f"Too close to call. Read {asked.step.words if asked.step else 'it'} again."
    return verdict_word(verdict.value) if verdict else ""


def _others(recorded: Recorded, person: User, *, seen: str) -> str:
    """What somebody else read in this sitting since the page was loaded, in one sentence."""
    known = int(seen) if seen.isascii() and seen.isdecimal() else 0
    new = [r for r in recorded.readings if r.pk > known and r.taken_by_id != person.pk]
    if not new or not seen:
        return ""
    names = User.objects.in_bulk({reading.taken_by_id for reading in new})
    who = " and ".join(sorted(name.shown_name for name in names.values()))
    what = ", ".join(f"{reading.point.code} {reading.side}" for reading in new[:6])
    return f"{who} is measuring this piece as well and has read {what}. All readings are kept."


def _look_back(request: HttpRequest, number: int) -> HttpResponse:
    """What was read so far, corrected readings struck through; opened on purpose, as it shows the figures."""
    sheet = lying_there(number)
    if sheet.inspection is None:
        return redirect("bench-piece", number)
    context = {"sheet": sheet, "piece": sheet.piece, "lines": readings_of(sheet)}
    return render(request, "inventory/bench/look_back.html", context)
