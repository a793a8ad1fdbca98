"""Studies that were read: readings laid into every turn, without the bench."""

from __future__ import annotations

from collections.abc import Callable

from inventory.models import Study, StudyReading, StudyTurn
from inventory.queries.own.places import walk_of_points
from tests.factories import MM, NOW

Read = Callable[[StudyTurn, str, str], float]


def steady(turn: StudyTurn, code: str, side: str) -> float:
    """Pieces 5 mm apart, the second person reads 2 mm longer, repeats are 1 mm apart (mm)."""
    base = {"WA": 330.0, "CF": 300.0}.get(code, 400.0)
    here = turn.study_piece.position * 5 + turn.study_person.position * 2
    flutter = (
        turn.study_piece.position * turn.study_piece.position + turn.round * 2 + turn.study_person.position
    ) % 3 - 1
    return base + here + flutter * 0.5 + (0.5 if side == "R" else 0.0)


def read_study(study: Study, read: Read = steady, *, but: int = 0) -> Study:
    """Lay a reading of every point and side into every turn, all but the last few of them."""
    turns = list(study.turns.select_related("study_piece", "study_person__person").order_by("pk"))
    for turn in turns[: len(turns) - but]:
        for step in walk_of_points(study.points.all()):
            figure = read(turn, step.point.code, step.side)
            StudyReading.objects.create(
                turn=turn,
                point=step.point,
                side=step.side,
                typed=f"{figure:g}",
                unit="mm",
                length_nm=round(figure * MM),
                taken_by=turn.study_person.person,
                taken_at=NOW,
                recorded_at=NOW,
            )
    return study
