"""Person-to-person studies: which there are, how far one is, what could be studied. No figure is told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Count, F, Q

from inventory.access import DEEDS_OF, Deed
from inventory.models import Piece, Study, StudyTurn, Style, User
from inventory.models.pieces import Standing
from inventory.queries.own.places import walk_of_points

if TYPE_CHECKING:
    from django.db.models import QuerySet

    from inventory.models import MeasurePoint, StudyPerson

GONE = (Standing.RETURN, Standing.SCRAP)
"""Standings of pieces that are no longer in the room."""
OFFERED = 60
"""So many pieces, the newest, are offered to tick; others are named by their label."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one person is: turns read in full, and turns in all."""

    row: StudyPerson
    done: int
    turns: int

    @property
    def left(self) -> int:
        return self.turns - self.done


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A piece of the study, and in how many rounds each person has read it."""

    piece: Piece
    rounds_read: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StudyState:
    """How far a study is, without any figure that was read."""

    study: Study
    points: tuple[MeasurePoint, ...]
    sides: int
    """Readings a turn."""
    people: tuple[Progress, ...]
    rows: tuple[PieceRow, ...]

    @property
    def done(self) -> int:
        return sum(person.done for person in self.people)

    @property
    def turns(self) -> int:
        return sum(person.turns for person in self.people)

    @property
    def is_complete(self) -> bool:
        return self.done == self.turns

    def left_of(self, person: int) -> int | None:
        """Turns somebody has left; None for one who takes no part."""
        return next((one.left for one in self.people if one.row.person_id == person), None)


def studies_listed() -> QuerySet[Study]:
    """All studies, the newest first, each with the number of its people, pieces and readings."""
    return Study.objects.select_related("style").annotate(
        people_count=Count("study_people", distinct=True),
        piece_count=Count("study_pieces", distinct=True),
        reading_count=Count(
            "turns__readings", filter=Q(turns__readings__corrects__isnull=True), distinct=True
        ),
    )


def study_by_number(number: int) -> Study | None:
    """The study of that number, with its style and who planned it."""
    return Study.objects.select_related("style", "planned_by").filter(number=number).first()


def state_of(study: Study) -> StudyState:
    """How far a study is: four statements."""
    points = tuple(study.points.order_by("position", "pk"))
    sides = len(walk_of_points(points))
    people = list(study.study_people.select_related("person"))
    pieces = list(study.study_pieces.select_related("piece"))
    turns = study.turns.annotate(read=Count("readings", filter=Q(readings__corrects__isnull=True)))
    full = [turn for turn in turns if turn.read >= sides]
    rounds = {
        (piece.pk, person.pk): sum(
            turn.study_piece_id == piece.pk and turn.study_person_id == person.pk for turn in full
        )
        for piece in pieces
        for person in people
    }
    return StudyState(
        study=study,
        points=points,
        sides=sides,
        people=tuple(
            Progress(
                row=person,
                done=sum(rounds[piece.pk, person.pk] for piece in pieces),
                turns=len(pieces) * study.rounds,
            )
            for person in people
        ),
        rows=tuple(
            PieceRow(piece.piece, tuple(rounds[piece.pk, person.pk] for person in people)) for piece in pieces
        ),
    )


def turn_for_bench(study: Study, pk: int) -> StudyTurn | None:
    """One turn of a study, with all that the bench shows."""
    wanted = StudyTurn.objects.select_related(
        "study__style", "study_person__person", "study_piece__piece__batch__style"
    )
    return wanted.filter(study=study, pk=pk).first()


def is_newest_turn(turn: StudyTurn) -> bool:
    """Whether its reader has begun none after it: figures of turns before that are not shown again."""
    later = StudyTurn.objects.filter(study_person=turn.study_person_id, order__gt=turn.order)
    return not later.filter(readings__isnull=False).exists()


def styles_to_study() -> QuerySet[Style]:
    """Styles that have points to be read, with how many pieces are at hand."""
    at_hand = Q(batches__pieces__isnull=False) & ~Q(batches__pieces__standing__in=GONE)
    return (
        Style.objects.filter(is_active=True, points__is_active=True)
        .annotate(pieces_at_hand=Count("batches__pieces", filter=at_hand, distinct=True))
        .order_by("code")
    )


def pieces_at_hand(style: Style) -> QuerySet[Piece]:
    """Pieces of a style that are still here, the newest first."""
    return (
        Piece.objects.filter(batch__style=style)
        .exclude(standing__in=GONE)
        .select_related("batch")
        .order_by("-number")[:OFFERED]
    )


def people_who_measure() -> QuerySet[User]:
    """Everybody who works here and may take readings."""
    roles = [role for role, deeds in DEEDS_OF.items() if Deed.MEASURE in deeds]
    return User.objects.filter(is_active=True, role__in=roles).order_by(
        F("first_name").asc(nulls_last=True), "username"
    )
