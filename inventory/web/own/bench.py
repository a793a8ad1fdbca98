"""The bench for our own measuring: the same page and script as for pieces, with other readings behind it."""

from __future__ import annotations

import dataclasses
import uuid
from typing import TYPE_CHECKING, Any

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.safestring import SafeString

from inventory.access import NotAllowed
from inventory.calc.errors import CalcError
from inventory.catalogue import FAMILIES, drawing
from inventory.models import Instrument
from inventory.queries.own.places import doubt_about
from inventory.services.own_readings import take_own_reading
from inventory.services.refusals import Refused
from inventory.web.bench.messages import refusal_as_json, status_of, typed_reading, wants_json
from inventory.web.bench.piece import TAPE_IN_SESSION
from inventory.web.bench.screen import REASONS, UNIT_WORDS, marked
from inventory.web.bench.walk_list import WalkLine, walk_rows

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User
    from inventory.queries.bench.walk import Step
    from inventory.queries.own.places import OwnPlace, OwnReading

KEEP = frozenset({"k", "keep"})


@dataclasses.dataclass(frozen=True, slots=True)
class Asking:
    """What the page asks for: `read`, `question`, `correct` or `finish`."""

    kind: str
    step: Step | None = None
    question: str = ""
    reading: OwnReading | None = None
    """The reading that is doubted or corrected."""


@dataclasses.dataclass(frozen=True, slots=True)
class Addresses:
    """Where the page lives, where readings go, and where it goes on when all is read."""

    page: str
    send_to: str
    finish: str
    finish_words: str
    finish_is_post: bool = False


def show(request: HttpRequest, place: OwnPlace, addresses: Addresses, *, person: User) -> HttpResponse:
    """The page: `?after=WA-L` the step just read, `?at=WA-L` another, `?correct=12` a reading."""
    context = _context(request, place, addresses, asking=_asking(request, place), person=person)
    return render(request, "inventory/own/bench.html", context)


def receive(
    request: HttpRequest, place: OwnPlace, addresses: Addresses, *, person: User, at: dt.datetime
) -> HttpResponse:
    """Store a posted reading, or take the answer that a doubted one stays."""
    post = request.POST
    kept = post.get("typed", "").strip().lower() in KEEP or (
        not post.get("typed", "").strip() and post.get("answer") == "kept"
    )
    if post.get("question") and kept:
        if wants_json(request):
            return JsonResponse({"kept": post["question"]})
        return redirect(addresses.page)
    try:
        message = typed_reading(post, 0)
        doubted = post.get("question", "")
        if message.corrects is None and doubted.isascii() and doubted.isdecimal():
            message = dataclasses.replace(message, corrects=int(doubted))
        recorded = take_own_reading(place, message, by=person, at=at)
    except NotAllowed:
        raise
    except (Refused, CalcError) as refusal:
        if wants_json(request):
            return refusal_as_json(refusal)
        asking = _asking_again(place, post.get("step", ""))
        context = _context(request, place, addresses, asking=asking, person=person)
        context |= {"typed": post.get("typed", ""), "reason": post.get("reason", ""), "wrong": str(refusal)}
        return render(request, "inventory/own/bench.html", context, status=status_of(refusal))
    if message.instrument and request.session.get(TAPE_IN_SESSION) != message.instrument:
        request.session[TAPE_IN_SESSION] = message.instrument
    reading = recorded.reading
    key = f"{reading.point.code}-{reading.side}"
    if not wants_json(request):
        return redirect(f"{addresses.page}?after={key}")
    return JsonResponse(_answer(place, reading, key))


def look_back(request: HttpRequest, place: OwnPlace, addresses: Addresses) -> HttpResponse:
    """What was read here, to correct one; opened on purpose, as it shows the figures."""
    lines = [(step, place.taken[step.key]) for step in place.steps if step.key in place.taken]
    context = {"place": place, "addresses": addresses, "lines": lines}
    return render(request, "inventory/own/look_back.html", context)


def _answer(place: OwnPlace, reading: OwnReading, key: str) -> dict[str, Any]:  # Any: what JSON can hold
    done = {*place.taken, key}
    left = [step.key for step in place.steps if step.key not in done]
    doubt = doubt_about(place, reading)
    return {
        "key": str(reading.client_key),
        "reading": reading.pk,
        "step": key,
        "ask": "question" if doubt else "read" if left else "finish",
        "next": left[0] if left else "",
        "done": sorted(done),
        "marks": {},
        "spoken": "Please look at the question." if doubt else "",
    }


def _asking(request: HttpRequest, place: OwnPlace) -> Asking:
    wanted = request.GET.get("correct", "")
    if wanted:
        for step in place.steps:
            reading = place.taken.get(step.key)
            if reading is not None and str(reading.pk) == wanted:
                return Asking("correct", step, reading=reading)
        raise Http404(
            f"There is no reading {wanted[:20]} to correct here; it may have been corrected already."
        )
    after = request.GET.get("after", "")
    if (reading := place.taken.get(after)) is not None and (doubt := doubt_about(place, reading)):
        return Asking("question", place.step(after), question=doubt, reading=reading)
    return _asking_again(place, request.GET.get("at", ""))


def _asking_again(place: OwnPlace, at: str) -> Asking:
    left = place.left
    if not left:
        return Asking("finish")
    return Asking("read", next((step for step in left if step.key == at), left[0]))


def _context(
    request: HttpRequest, place: OwnPlace, addresses: Addresses, *, asking: Asking, person: User
) -> dict[str, Any]:  # Any: Django's own shape of a context
    lines = [
        WalkLine(
            step=step,
            state="done" if step.key in place.taken else "todo",
            mark=None,
            is_now=asking.step == step,
            can_skip=False,
            both=SafeString(""),
        )
        for step in place.steps
    ]
    return {
        "place": place,
        "asked": asking,
        "step": asking.step,
        "lines": lines,
        "rows": walk_rows(lines),
        "done": len(place.taken),
        "laid": FAMILIES[place.style.family].laid,
        "drawings": _drawings(place, asking),
        "tapes": list(Instrument.objects.filter(retired_on=None)),
        "tape": request.session.get(TAPE_IN_SESSION) or place.instrument_id,
        "unit_words": UNIT_WORDS[place.unit],
        "reasons": REASONS,
        "key": uuid.uuid4(),
        "addresses": addresses,
        "send_to": addresses.send_to,
        "address": addresses.page,
        "person": person,
    }


def _drawings(place: OwnPlace, asking: Asking) -> list[dict[str, Any]]:  # Any: text, markup, truth
    family = place.style.family
    drawn = frozenset(step.point.code for step in place.steps) & drawing.drawn_codes(family)
    now = asking.step
    return [
        {
            "side": side,
            "svg": marked(
                drawing.render(family, active=None, codes=drawn, mirrored=side == "R"),
                now.point.code if now else "",
            ),
            "shown": (side == "R") == (now is not None and now.side == "R"),
        }
        for side in ("L", "R")
        if side == "L" or any(step.side == "R" for step in place.steps)
    ]
