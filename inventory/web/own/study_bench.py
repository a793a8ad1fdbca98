"""The turns of a study at the bench: each person's own, one piece after another, blind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from inventory.access import Deed
from inventory.queries.own import studies as ask
from inventory.queries.own.places import next_turn, place_of_turn
from inventory.queries.own.study_results import doubtful_of
from inventory.web.entrance import allowed, found
from inventory.web.own.bench import Addresses, look_back, receive, show

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from inventory.models import Study, StudyTurn


def study_bench(request: HttpRequest, number: int) -> HttpResponse:
    """On to the signed-in person's next turn, or to the study's page when none is left."""
    person = allowed(request, Deed.MEASURE)
    study = _study(number)
    turn = next_turn(study.pk, person.pk) if study.state == study.State.RUNNING else None
    if turn is not None:
        return redirect("study-turn", study.number, turn.pk)
    if study.state == study.State.RUNNING:
        takes_part = study.study_people.filter(person=person).exists()
        messages.info(
            request,
            "You have read all your turns. Thank you."
            if takes_part
            else f"You take no part in {study.label}. Its people find their turns here.",
        )
    return redirect("study", study.number)


def study_turn(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """The bench with one piece of the study."""
    person = allowed(request, Deed.MEASURE)
    turn = _turn(number, pk)
    if turn.study_person.person_id != person.pk:
        return _not_yours(request, turn)
    correct = request.GET.get("correct", "")
    if correct and not (ask.is_newest_turn(turn) or _is_doubted(turn, correct)):
        raise Http404("Figures of turns before the newest are not shown until the study is finished.")
    return show(request, place_of_turn(turn), _addresses(turn), person=person)


def study_readings(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """Take a reading of a turn; looked at, what was read in the newest one, to correct it."""
    person = allowed(request, Deed.MEASURE)
    turn = _turn(number, pk)
    if request.method == "POST":
        return receive(request, place_of_turn(turn), _addresses(turn), person=person, at=timezone.now())
    if turn.study_person.person_id != person.pk:
        return _not_yours(request, turn)
    if not ask.is_newest_turn(turn):
        messages.info(request, "Figures of earlier turns are not shown until the study is finished.")
        return redirect("study", turn.study.number)
    return look_back(request, place_of_turn(turn), _addresses(turn))


def _is_doubted(turn: StudyTurn, reading: str) -> bool:
    """Whether the reading was named as too far from the others, for its reader to look at again."""
    return any(str(one.pk) == reading for _, one in doubtful_of(turn.study))


def _not_yours(request: HttpRequest, turn: StudyTurn) -> HttpResponse:
    messages.info(request, f"That turn is {turn.study_person.person}'s. Whose hands read it counts.")
    return redirect("study", turn.study.number)


def _study(number: int) -> Study:
    return found(ask.study_by_number(number), f"study S{number:03d}")


def _turn(number: int, pk: int) -> StudyTurn:
    study = _study(number)
    return found(ask.turn_for_bench(study, pk), f"turn of {study.label}")


def _addresses(turn: StudyTurn) -> Addresses:
    names = (turn.study.number, turn.pk)
    return Addresses(
        page=reverse("study-turn", args=names),
        send_to=reverse("study-readings", args=names),
        finish=reverse("study-bench", args=names[:1]),
        finish_words="To the next piece",
    )
