"""How long a study would take, and what it and its neighbours in size could tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.gauge_study import Told, make_plan, people_told, repeats_told
from inventory.queries.own.places import walk_of_points

if TYPE_CHECKING:
    from inventory.models import MeasurePoint


@dataclass(frozen=True, slots=True)
class Size:
    """A study of some size: its readings, minutes, and the limits of what it finds, as multiples."""

    words: str
    pieces: int
    people: int
    rounds: int
    readings: int
    minutes: int
    repeats: Told
    between: Told

    @property
    def minutes_each(self) -> int:
        return -(-self.minutes // self.people)


def sizes_around(
    *, pieces: int, people: int, rounds: int, points: Sequence[MeasurePoint]
) -> tuple[Size, ...]:
    """The study as planned, and the same with more pieces, a round or a person more.

    Raises `ImpossibleInput` for one that is too small or too large.
    """
    steps = len(walk_of_points(points))
    both_sides = all(point.is_paired for point in points)

    def size(words: str, pieces: int, people: int, rounds: int) -> Size:
        plan = make_plan(pieces=pieces, people=people, rounds=rounds, seed=0)
        counted = pieces * 2 if both_sides else pieces
        return Size(
            words=words,
            pieces=pieces,
            people=people,
            rounds=rounds,
            readings=len(plan.turns) * steps,
            minutes=plan.minutes(points=steps),
            repeats=repeats_told(pieces=counted, people=people, rounds=rounds),
            between=people_told(people=people),
        )

    return (
        size("as planned", pieces, people, rounds),
        size("two pieces more", pieces + 2, people, rounds),
        size("a round more", pieces, people, rounds + 1),
        size("a person more", pieces, people + 1, rounds),
    )
