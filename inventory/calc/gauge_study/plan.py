"""Who reads which piece when: shuffled, from a seed, and so that nobody meets a piece again too soon.

Each person has an order of her own in each round. From the second round on the pieces of the first half of
her last order come again in the first half, shuffled anew, and those of the later half in the later half:
between two turns at the same piece lie at least half of the others, too many to recall a figure.

The order comes from the bits of PCG64, seeded with the seed, the round and the person; numpy keeps that
stream the same in all versions, and the shuffle is our own, so the same seed always gives the same plan.
"""

import math
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np

from inventory.calc.errors import ImpossibleInput

_T = TypeVar("_T")

MIN_PIECES: Final = 5
MIN_PEOPLE: Final = 2
MIN_ROUNDS: Final = 2
MAX_READINGS: Final = 2_000

SECONDS_A_LAYING: Final = 40
SECONDS_A_READING: Final = 20
"""Laying a piece flat and reading one length: 40 readings in 40 minutes (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One reading to take: its place in the whole study, round, person and piece from 1, and the side."""

    number: int
    round: int
    person: int
    piece: int
    side: str


@dataclass(frozen=True, slots=True)
class StudyPlan:
    """All turns of a study in order, and what they were made from."""

    pieces: int
    people: int
    rounds: int
    sides: tuple[str, ...]
    seed: int
    turns: tuple[Turn, ...]

    def minutes(self, *, points: int = 1) -> int:
        """Time at the bench, all people together, in whole minutes; `points` are read at each laying."""
        if points < 1:
            raise ImpossibleInput("number of points", points, "Read at least one")
        layings = self.pieces * self.people * self.rounds
        seconds = layings * SECONDS_A_LAYING + len(self.turns) * points * SECONDS_A_READING
        return math.ceil(seconds / 60)


def make_plan(
    *, pieces: int, people: int, rounds: int = 2, sides: tuple[str, ...] = ("S",), seed: int
) -> StudyPlan:
    """The plan for a study: all people in round 1, then all in round 2, each in a shuffled order.

    A piece is laid once a turn and all its sides read then, in shuffled order. Raises ImpossibleInput under
    5 pieces, 2 people or 2 rounds, above 2000 readings, for no or doubled sides, and a seed below zero.

    >>> plan = make_plan(pieces=10, people=2, rounds=2, seed=1)
    >>> len(plan.turns), plan.minutes()
    (40, 40)
    """
    check_size(pieces=pieces, people=people, rounds=rounds)
    if not sides or len(set(sides)) < len(sides):
        raise ImpossibleInput("list of sides", sides or "empty", "Name each side once, such as L and R")
    readings = pieces * people * rounds * len(sides)
    if readings > MAX_READINGS:
        raise ImpossibleInput("study", f"{readings} readings", f"Keep it to {MAX_READINGS}; 40 are usual")
    if seed < 0:
        raise ImpossibleInput("seed", seed, "Give zero or more")
    turns: list[Turn] = []
    last_orders: dict[int, list[int]] = {}
    for round_number in range(1, rounds + 1):
        for person in range(1, people + 1):
            bits = np.random.PCG64(np.random.SeedSequence([seed, round_number, person]))
            order = _next_order(last_orders.get(person), pieces=pieces, bits=bits)
            last_orders[person] = order
            for piece in order:
                for side in _shuffled(list(sides), bits):
                    turns.append(Turn(len(turns) + 1, round_number, person, piece, side))
    return StudyPlan(pieces, people, rounds, sides, seed, tuple(turns))


def check_size(*, pieces: int, people: int, rounds: int) -> None:
    """Refuse a study too small to say anything: 5 pieces, 2 people and 2 rounds are the least."""
    if people < MIN_PEOPLE:
        raise ImpossibleInput(
            "number of people", people, "Take at least 2: one person cannot show how far people differ"
        )
    if rounds < MIN_ROUNDS:
        raise ImpossibleInput(
            "number of rounds", rounds, "Take at least 2: without a repeat nobody's own spread is seen"
        )
    if pieces < MIN_PIECES:
        raise ImpossibleInput("number of pieces", pieces, "Take at least 5, better 10")


def _next_order(last: list[int] | None, *, pieces: int, bits: np.random.PCG64) -> list[int]:
    if last is None:
        return _shuffled(list(range(1, pieces + 1)), bits)
    half = pieces // 2
    return _shuffled(last[:half], bits) + _shuffled(last[half:], bits)


def _shuffled(items: list[_T], bits: np.random.PCG64) -> list[_T]:
    """Every order equally likely (Fisher and Yates)."""
    items = list(items)
    for last in range(len(items) - 1, 0, -1):
        pick = _below(last + 1, bits)
        items[last], items[pick] = items[pick], items[last]
    return items


def _below(bound: int, bits: np.random.PCG64) -> int:
    """A whole number below `bound`, all equally likely: raw words from the uneven end are thrown away."""
    even = 2**64 - 2**64 % bound
    while (raw := int(bits.random_raw())) >= even:
        pass
    return raw % bound
