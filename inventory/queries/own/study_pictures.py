"""A study's result as rows to be drawn and read: dots per piece, bias and repeat ranges per person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.calc.gauge_study import Study as Found

LEAST_REACH_NM = 500_000
"""No picture is drawn finer than half a millimetre either way: equal readings are no drama."""


@dataclass(frozen=True, slots=True)
class Hand:
    """A person of the study: her place in the legend (from 1) and her name."""

    place: int
    name: str


@dataclass(frozen=True, slots=True)
class DotRow:
    """A piece: by person in the legend's order, her readings and how far off its mean they are (nm)."""

    piece: str
    values_nm: tuple[tuple[int, ...], ...]
    offs_nm: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class BiasRow:
    """How far a person reads above the mean of all, with confidence limits (nm)."""

    hand: Hand
    mean_nm: float
    bias_nm: float
    low_nm: float
    high_nm: float
    differs: bool


@dataclass(frozen=True, slots=True)
class RangeRow:
    """A person's repeats: the range at each piece, their mean, and the largest with its piece (nm)."""

    hand: Hand
    ranges_nm: tuple[int, ...]
    mean_nm: float
    largest_nm: int
    at: str


@dataclass(frozen=True, slots=True)
class Pictures:
    """All rows of one point, and how far each picture reaches from its middle or its left end (nm)."""

    hands: tuple[Hand, ...]
    dots: tuple[DotRow, ...]
    dots_reach_nm: float
    biases: tuple[BiasRow, ...]
    bias_reach_nm: float
    ranges: tuple[RangeRow, ...]
    range_reach_nm: float


def pictures_of(found: Found, names: Mapping[str, str]) -> Pictures:
    """The rows of a study's result; `names` says how a person is shown."""
    table = found.table
    hands = tuple(Hand(place, names.get(who, who)) for place, who in enumerate(table.people, start=1))
    dots = tuple(
        DotRow(piece, row, tuple(tuple(value - _middle(row) for value in cell) for cell in row))
        for piece, row in zip(table.pieces, table.values_nm, strict=True)
    )
    biases = tuple(
        BiasRow(hand, mean.mean_nm, mean.bias_nm, mean.low_nm, mean.high_nm, mean.differs)
        for hand, mean in zip(hands, found.people, strict=True)
    )
    ranges = tuple(_ranges(found, hand) for hand in hands)
    return Pictures(
        hands=hands,
        dots=dots,
        dots_reach_nm=_reach(abs(off) for row in dots for cell in row.offs_nm for off in cell),
        biases=biases,
        bias_reach_nm=_reach(abs(limit) for row in biases for limit in (row.low_nm, row.high_nm)),
        ranges=ranges,
        range_reach_nm=_reach(one for row in ranges for one in row.ranges_nm),
    )


def _ranges(found: Found, hand: Hand) -> RangeRow:
    of_pieces = [max(row[hand.place - 1]) - min(row[hand.place - 1]) for row in found.table.values_nm]
    largest = max(of_pieces)
    return RangeRow(
        hand=hand,
        ranges_nm=tuple(of_pieces),
        mean_nm=sum(of_pieces) / len(of_pieces),
        largest_nm=largest,
        at=found.table.pieces[of_pieces.index(largest)],
    )


def _middle(row: tuple[tuple[int, ...], ...]) -> float:
    values = [value for cell in row for value in cell]
    return sum(values) / len(values)


def _reach(distances_nm: Iterable[float]) -> float:
    return max(LEAST_REACH_NM, max(distances_nm, default=0.0))
