"""Person-to-person studies: plan one, end it, give it up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Max

from inventory.access import Deed, may, require
from inventory.calc.gauge_study import make_plan
from inventory.calc.gauge_study.plan import MAX_READINGS
from inventory.models import Shop, Study, StudyPerson, StudyPiece, StudyTurn
from inventory.queries.own.places import walk_of_points
from inventory.queries.own.study_results import results_of
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import MeasurePoint, Piece, Style, User

MOST_PIECES = 12
LONGEST_NOTE = 90


class StudyNotPossible(Refused):
    """What was planned cannot be a study of this style."""


class StudyIsOver(Refused):
    """A study that was finished or given up stays as it is."""


class StudyNotReady(Refused):
    """Too little was read to say anything."""


@transaction.atomic
def plan_study(
    *,
    style: Style,
    pieces: Sequence[Piece],
    people: Sequence[User],
    points: Sequence[MeasurePoint],
    rounds: int,
    seed: int,
    unit: str,
    by: User,
    at: dt.datetime,
    note: str = "",
) -> Study:
    """Plan a study: who reads which piece when follows from the seed.

    Raises `StudyNotPossible` for pieces or points of another style, people who may not measure, and anything
    there twice; `ImpossibleInput` for a study too small or too large. Nothing is stored then.
    """
    require(by, Deed.SET_UP)
    check_plan(style=style, pieces=pieces, people=people, points=points, note=note)
    plan = make_plan(pieces=len(pieces), people=len(people), rounds=rounds, seed=seed)
    sides = len(walk_of_points(points))
    if len(plan.turns) * sides > MAX_READINGS:
        raise StudyNotPossible(
            f"This would be {len(plan.turns) * sides} readings. Keep it to {MAX_READINGS}: take fewer points "
            "or rounds.",
            field="points",
        )
    study = Study.objects.create(
        number=_next_number(),
        style=style,
        rounds=rounds,
        seed=seed,
        unit=unit,
        note=note.strip(),
        planned_by=by,
        planned_at=at,
    )
    study.points.set(points)
    lying = [
        StudyPiece.objects.create(study=study, piece=piece, position=number)
        for number, piece in enumerate(pieces, start=1)
    ]
    hands = [
        StudyPerson.objects.create(study=study, person=person, position=number)
        for number, person in enumerate(people, start=1)
    ]
    order = dict.fromkeys(range(1, len(people) + 1), 0)
    turns = []
    for turn in plan.turns:
        order[turn.person] += 1
        turns.append(
            StudyTurn(
                study=study,
                study_person=hands[turn.person - 1],
                study_piece=lying[turn.piece - 1],
                round=turn.round,
                order=order[turn.person],
            )
        )
    StudyTurn.objects.bulk_create(turns)
    leave_row(
        who=by,
        deed="plan study",
        subject=study,
        at=at,
        style=style.code,
        pieces=[piece.label for piece in pieces],
        people=[person.username for person in people],
        points=[point.code for point in points],
        rounds=rounds,
        seed=seed,
    )
    return study


@transaction.atomic
def finish_study(*, study: Study, by: User, at: dt.datetime) -> Study:
    """End a study, so that its figures are shown; nothing more is read in it.

    Raises `StudyIsOver`, and `StudyNotReady` where no point has enough readings to be analysed.
    """
    require(by, Deed.SET_UP)
    stored = _running(study)
    results = results_of(stored)
    if all(result.chosen is None for result in results):
        raise StudyNotReady(f"{stored.label} cannot be finished yet: {results[0].refused}")
    stored.state, stored.ended_at = Study.State.FINISHED, at
    stored.save()
    leave_row(
        who=by,
        deed="finish study",
        subject=stored,
        at=at,
        not_analysed=[result.point.code for result in results if result.chosen is None],
    )
    return stored


@transaction.atomic
def give_up_study(*, study: Study, reason: str, by: User, at: dt.datetime) -> Study:
    """Give a running study up; its readings stay and are never analysed. Raises `StudyIsOver`."""
    require(by, Deed.SET_UP)
    stored = _running(study)
    reason = reason.strip()
    if not reason:
        raise StudyNotReady("Say why the study is given up, such as 'a tape was changed'.", field="reason")
    stored.state, stored.ended_at = Study.State.ABANDONED, at
    stored.note = f"{stored.note} Given up: {reason}".strip()[:300]
    stored.save()
    leave_row(who=by, deed="give up study", subject=stored, at=at, reason=reason)
    return stored


def _running(study: Study) -> Study:
    stored = Study.objects.select_for_update().get(pk=study.pk)
    if stored.state != Study.State.RUNNING:
        raise StudyIsOver(
            f"{stored.label} is {stored.get_state_display().lower()} already and stays as it is."
        )
    return stored


def _next_number() -> int:
    """The next free number; the shop's row is locked, so two planned at once wait for one another."""
    Shop.objects.select_for_update().get(pk=Shop.ONLY)
    last: int | None = Study.objects.aggregate(last=Max("number"))["last"]
    return (last or 0) + 1


def check_plan(
    *,
    style: Style,
    pieces: Sequence[Piece],
    people: Sequence[User],
    points: Sequence[MeasurePoint],
    note: str,
) -> None:
    """Refuse with `StudyNotPossible` what cannot be one study of this style; sizes are `make_plan`'s."""
    strange = [piece.label for piece in pieces if piece.batch.style_id != style.pk]
    if strange:
        raise StudyNotPossible(
            f"{', '.join(strange)} {'is' if len(strange) == 1 else 'are'} of another style than "
            f"{style.code}. A study compares how one style is read; leave them out.",
            field="labels",
        )
    if len(pieces) > MOST_PIECES:
        raise StudyNotPossible(
            f"{len(pieces)} pieces are more than anybody reads with care. "
            f"Pick {MOST_PIECES} at most; 10 are usual.",
            field="pieces",
        )
    others = [point.code for point in points if point.style_id != style.pk]
    if others or not points:
        raise StudyNotPossible(
            f"Point {', '.join(others)} is not of style {style.code}. Pick points of this style."
            if others
            else "No point is picked. Pick at least one; three or four are usual.",
            field="points",
        )
    idle = [str(person) for person in people if not may(person, Deed.MEASURE)]
    if idle:
        raise StudyNotPossible(
            f"{', '.join(idle)} may not record readings. Pick people who measure.", field="people"
        )
    for rows, words, field in (
        (pieces, "piece", "pieces"),
        (people, "person", "people"),
        (points, "point", "points"),
    ):
        if len({row.pk for row in rows}) < len(rows):
            raise StudyNotPossible(f"The same {words} is named twice. Name each once.", field=field)
    if len(note) > LONGEST_NOTE:
        raise StudyNotPossible(
            f"The note has {len(note)} characters. Keep it to {LONGEST_NOTE}.", field="note"
        )
