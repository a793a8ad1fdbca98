"""The next reading: of all that could be taken, the one that tells two causes apart best.

Each possible reading would show a cause in full, in part or not at all. What one may expect to learn from it
is the mutual information, in bits, between "which of the two" and the figure read: 1 bit settles an even
question, 0 teaches nothing. What shows what, and how finely, is common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from scipy import special

from inventory.calc.causes.words import WORDS, Cause

WORTH_SAYING_BITS: Final = 0.02


class Next(StrEnum):
    """Readings one may take next."""

    SAME_AGAIN = "same_again"
    OTHER_PERSON = "other_person"
    OTHER_TAPE = "other_tape"
    STEEL_RULE = "steel_rule"
    CHECK_GARMENT = "check_garment"
    PANEL_WIDTHS = "panel_widths"
    INSIDE_WAIST = "inside_waist"
    LENGTHS = "lengths"
    CLOTH_SQUARE = "cloth_square"
    BESIDE_THE_EDGE = "beside_the_edge"
    OTHER_SIZES = "other_sizes"
    NEIGHBOUR_SIZE = "neighbour_size"
    OLD_SPEC = "old_spec"
    UNTOUCHED_PIECE = "untouched_piece"
    MORE_PIECES = "more_pieces"


@dataclass(frozen=True, slots=True)
class Showing:
    """A possible reading: what to do, what is seen if a cause shows and if not, its SD, what it shows."""

    do: str
    seen: str
    unseen: str
    sd_mm: float
    shows: Mapping[Cause, float]


def _in_full(*causes: Cause) -> dict[Cause, float]:
    return dict.fromkeys(causes, 1.0)


_IN_THE_GARMENT: Final = (
    Cause.SEAMS,
    Cause.PATTERN,
    Cause.GRADING,
    Cause.CLOTH,
    Cause.BINDING,
    Cause.WAIST_TAPE,
    Cause.OLD_SPEC,
    Cause.STACK,
)
_IN_OUR_HANDS: Final = (Cause.TAPE, Cause.START, Cause.PERSON, Cause.TECHNIQUE)

SHOWINGS: Final[Mapping[Next, Showing]] = {
    Next.SAME_AGAIN: Showing(
        "Read that one again", "the figure changes", "it stays", 1.5, _in_full(Cause.MISREAD)
    ),
    Next.OTHER_PERSON: Showing(
        "Have another person read the same pieces, blind",
        "the two differ",
        "they agree",
        1.0,
        _in_full(Cause.PERSON, Cause.TECHNIQUE, Cause.MISREAD),
    ),
    Next.OTHER_TAPE: Showing(
        "Read the same pieces with another tape",
        "the two differ",
        "they agree",
        0.7,
        _in_full(Cause.TAPE, Cause.START, Cause.MISREAD),
    ),
    Next.STEEL_RULE: Showing(
        "Lay the tape beside the steel rule at two lengths",
        "the tape is off, the longer the more",
        "it is not off more at the longer",
        0.3,
        _in_full(Cause.TAPE),
    ),
    Next.CHECK_GARMENT: Showing(
        "Measure the check garment", "it has moved", "it has not", 0.7, _in_full(*_IN_OUR_HANDS)
    ),
    Next.PANEL_WIDTHS: Showing(
        "Measure the panels seam to seam and add them up",
        "the panels are off",
        "they are right",
        1.0,
        _in_full(
            Cause.TAPE, Cause.SEAMS, Cause.PATTERN, Cause.GRADING, Cause.PANEL, Cause.LABEL, Cause.OLD_SPEC
        )
        | {Cause.CLOTH: 1.0, Cause.WORN: 0.5},
    ),
    Next.INSIDE_WAIST: Showing(
        "Measure the waist tape inside",
        "it is off",
        "it is right",
        0.7,
        _in_full(Cause.WAIST_TAPE, Cause.TAPE, Cause.START, Cause.LABEL),
    ),
    Next.LENGTHS: Showing(
        "Measure the lengths too",
        "they are off as well",
        "they are right",
        0.7,
        _in_full(Cause.TAPE, Cause.START, Cause.LABEL) | {Cause.CLOTH: 0.5, Cause.PERSON: 0.5},
    ),
    Next.CLOTH_SQUARE: Showing(
        "Compare both directions of the cloth on one wide panel",
        "one direction is off and the other is not",
        "both are alike",
        1.0,
        _in_full(Cause.CLOTH),
    ),
    Next.BESIDE_THE_EDGE: Showing(
        "Compare the bound edge with the seam line beside it",
        "the edge is shorter",
        "they agree",
        1.0,
        _in_full(Cause.BINDING),
    ),
    Next.OTHER_SIZES: Showing(
        "Measure more pieces of the smallest and the largest size at that point",
        "the deviation changes with size",
        "it does not",
        1.0,
        _in_full(Cause.GRADING) | {Cause.TAPE: 0.1, Cause.CLOTH: 0.1},
    ),
    Next.NEIGHBOUR_SIZE: Showing(
        "Lay the piece on one of the neighbouring size",
        "they match",
        "they do not",
        1.5,
        _in_full(Cause.LABEL),
    ),
    Next.OLD_SPEC: Showing(
        "Ask the maker for the sheet that was cut from",
        "it is the earlier revision",
        "it is the one in force",
        0.1,
        _in_full(Cause.OLD_SPEC),
    ),
    Next.UNTOUCHED_PIECE: Showing(
        "Compare with an untouched piece of the same size",
        "this one is wider",
        "they agree",
        1.5,
        _in_full(Cause.WORN, Cause.LABEL, Cause.PANEL, Cause.MISREAD),
    ),
    Next.MORE_PIECES: Showing(
        "Measure more pieces of this batch",
        "they are off in the same way",
        "they are not",
        1.5,
        _in_full(*_IN_THE_GARMENT, *_IN_OUR_HANDS),
    ),
}


@dataclass(frozen=True, slots=True)
class Contender:
    """One of two causes to tell apart: how likely, how large it shows (mm), and the SD of that."""

    cause: Cause
    probability: float
    typical_mm: float
    u_mm: float


@dataclass(frozen=True, slots=True)
class Settling:
    """The reading to take next, the two causes it tells apart, what to expect of it (bits), in words."""

    reading: Next
    between: tuple[Cause, Cause]
    bits: float
    sentence: str


def settle(one: Contender, other: Contender, *, without: frozenset[Next] = frozenset()) -> Settling | None:
    """The reading that tells two causes apart best; None if none would teach anything worth the walk.

    `without`: readings that cannot be taken, or were.
    """
    learnt = {
        reading: expected_bits(showing, one, other)
        for reading, showing in SHOWINGS.items()
        if reading not in without
    }
    if not learnt:
        return None
    best = max(learnt, key=lambda reading: learnt[reading])
    if learnt[best] < WORTH_SAYING_BITS:
        return None
    showing = SHOWINGS[best]
    first, second = sorted((one, other), key=lambda who: -_shown(showing, who))
    sentence = (
        f"{showing.do}: {showing.seen} if it is “{WORDS[first.cause].name}”, "
        f"{showing.unseen} if it is “{WORDS[second.cause].name}”."
    )
    return Settling(best, (one.cause, other.cause), learnt[best], sentence)


def expected_bits(showing: Showing, one: Contender, other: Contender) -> float:
    """Mutual information (bits) between which of the two it is and the figure read, by quadrature."""
    total = one.probability + other.probability
    if not total:
        return 0.0
    chances = np.array([one.probability, other.probability]) / total
    means = np.array([_shown(showing, who) for who in (one, other)])
    sds = np.array([np.hypot(showing.sd_mm, _part(showing, who) * who.u_mm) for who in (one, other)])
    reach = 8 * sds.max()
    at = np.linspace(means.min() - reach, means.max() + reach, _STEPS)
    log_each = -0.5 * ((at - means[:, None]) / sds[:, None]) ** 2 - np.log(sds * np.sqrt(2 * np.pi))[:, None]
    log_both = special.logsumexp(log_each, axis=0, b=chances[:, None])
    gain = (chances[:, None] * np.exp(log_each) * (log_each - log_both)).sum(axis=0)
    return max(0.0, float(np.trapezoid(gain, at) / np.log(2)))


_STEPS: Final = 801


def _part(showing: Showing, who: Contender) -> float:
    return showing.shows.get(who.cause, 0.0)


def _shown(showing: Showing, who: Contender) -> float:
    return _part(showing, who) * who.typical_mm
