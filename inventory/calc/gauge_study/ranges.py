"""The method of averages and ranges: what a study says without sums of squares, for comparison.

Measurement Systems Analysis, 4th edition, chapter III (AIAG; the report form from memory): K1, K2, K3 are
1/d2* for the repeats, the people and the pieces; with more than 15 ranges d2* is taken as d2. It cannot see
piece × person, and gives other figures than the analysis of variance from the same readings: the number of
groups told apart may be 5 by the one and 4 by the other. The verdict of a study is that of `analysis`.
"""

import math
from dataclasses import dataclass
from typing import Final

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study.range_factors import d2, d2_star
from inventory.calc.gauge_study.readings import Table

_MANY_RANGES: Final = 15

GROUP_FACTOR: Final = 1.41
"""Groups told apart = 1.41 · SD of the pieces / SD of measuring; √2, as the report form rounds it."""


@dataclass(frozen=True, slots=True)
class RangeParts:
    """SDs (nm) of repeats, people, both, pieces and all; `groups` is 1.41·piece/both before truncation."""

    repeatability_nm: float
    reproducibility_nm: float
    measuring_nm: float
    piece_nm: float
    total_nm: float
    groups: float | None

    def percent_of_total(self, sd_nm: float) -> float | None:
        """An SD in percent of the total SD; None when nothing differs at all."""
        return 100 * sd_nm / self.total_nm if self.total_nm else None


def average_range(table: Table) -> RangeParts:
    """The parts of a full table by averages and ranges."""
    cells = table.cells()
    mean_range = math.fsum(max(cell) - min(cell) for _, _, cell in cells) / len(cells)
    by_person = [
        math.fsum(value for row in table.values_nm for value in row[who]) / (len(table.pieces) * table.rounds)
        for who in range(len(table.people))
    ]
    by_piece = [
        math.fsum(value for cell in row for value in cell) / (len(table.people) * table.rounds)
        for row in table.values_nm
    ]
    return parts_from_ranges(
        mean_range_nm=mean_range,
        person_range_nm=max(by_person) - min(by_person),
        piece_range_nm=max(by_piece) - min(by_piece),
        pieces=len(table.pieces),
        people=len(table.people),
        rounds=table.rounds,
    )


def parts_from_ranges(
    *,
    mean_range_nm: float,
    person_range_nm: float,
    piece_range_nm: float,
    pieces: int,
    people: int,
    rounds: int,
) -> RangeParts:
    """The parts from a mean range of repeats and the ranges of the people's and the pieces' means (nm)."""
    if min(mean_range_nm, person_range_nm, piece_range_nm) < 0:
        raise ImpossibleInput("range", "below zero", "Give largest minus smallest")
    k1 = 1 / (d2(rounds) if pieces * people > _MANY_RANGES else d2_star(rounds, ranges=pieces * people))
    repeat = mean_range_nm * k1
    of_people = (person_range_nm / d2_star(people, ranges=1)) ** 2 - repeat**2 / (pieces * rounds)
    reproducibility = math.sqrt(max(0.0, of_people))
    measuring = math.hypot(repeat, reproducibility)
    piece = piece_range_nm / d2_star(pieces, ranges=1)
    return RangeParts(
        repeatability_nm=repeat,
        reproducibility_nm=reproducibility,
        measuring_nm=measuring,
        piece_nm=piece,
        total_nm=math.hypot(measuring, piece),
        groups=GROUP_FACTOR * piece / measuring if measuring else None,
    )
