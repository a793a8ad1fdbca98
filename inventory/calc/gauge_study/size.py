"""What a study of a given size could tell, before anybody lays a tape."""

import math
from dataclasses import dataclass

from scipy.special import chdtri

from inventory.calc.errors import ImpossibleInput


@dataclass(frozen=True, slots=True)
class Told:
    """Between which multiples of the SD that will be found the true one lies, by `dof` degrees of freedom."""

    low: float
    high: float
    dof: int


def repeats_told(*, pieces: int, people: int, rounds: int, confidence: float = 0.95) -> Told:
    """Of the spread of one person's repeats; a piece read on both sides counts twice.

    Each cell gives rounds − 1 degrees of freedom; pooling with piece × person gives more, but that is only
    known afterwards.

    >>> told = repeats_told(pieces=10, people=2, rounds=2)
    >>> told.dof, round(told.low, 2), round(told.high, 2)
    (20, 0.77, 1.44)
    """
    return expected_limits(pieces * people * (rounds - 1), confidence=confidence)


def people_told(*, people: int, confidence: float = 0.95) -> Told:
    """Of the spread between people, at best: when repeats blur it little.

    >>> round(people_told(people=2).high), round(people_told(people=3).high, 1)
    (32, 6.3)
    """
    return expected_limits(people - 1, confidence=confidence)


def expected_limits(dof: int, *, confidence: float = 0.95) -> Told:
    """Confidence limits of a standard deviation as multiples of its estimate: √(ν/χ²).

    Raises ImpossibleInput without a degree of freedom, and for a confidence not between 0 and 1.
    Any textbook; from memory.
    """
    if dof < 1:
        raise ImpossibleInput("degrees of freedom", dof, "Take at least two people and two rounds")
    if not 0 < confidence < 1:
        raise ImpossibleInput("confidence", confidence, "Give a number between 0 and 1")
    half = (1 - confidence) / 2
    low, high = (math.sqrt(dof / float(chdtri(dof, share))) for share in (half, 1 - half))
    return Told(low, high, dof)
