"""The analysis of variance of a study: pieces, people, piece × person, repeats.

The sums of squares are exact (whole nanometres, fractions); only the mean squares are floats, in nm². If
people do not disagree about single pieces beyond chance (p of piece × person above `pool_above`, 0.25 unless
told otherwise), that line is pooled with the repeats, which then are better known; the result says which.
Formulas: any textbook on designed experiments (two-way crossed, random effects); from memory.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from scipy.special import fdtrc

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study.mean_squares import MeanSquare
from inventory.calc.gauge_study.readings import Table


@dataclass(frozen=True, slots=True)
class AnovaRow:
    """A line of the table: sum of squares and mean square (nm²), F and its p, None where there is no test."""

    source: str
    squares_nm2: float
    dof: int
    mean_square_nm2: float
    f: float | None = None
    p: float | None = None

    @property
    def mean_square(self) -> MeanSquare:
        """The mean square with its degrees of freedom."""
        return MeanSquare(self.mean_square_nm2, self.dof, self.source)


@dataclass(frozen=True, slots=True)
class Anova:
    """The lines of a study; `error` is what the pieces and people are tested against when pooled."""

    piece: AnovaRow
    person: AnovaRow
    interaction: AnovaRow
    repeat: AnovaRow
    total: AnovaRow
    pooled: bool
    error: AnovaRow

    @property
    def rows(self) -> tuple[AnovaRow, ...]:
        """The lines as they are shown: with piece × person and repeats apart, or pooled."""
        middle = (self.error,) if self.pooled else (self.interaction, self.repeat)
        return (self.piece, self.person, *middle, self.total)

    @property
    def base(self) -> MeanSquare:
        """What pieces and people vary on top of: piece × person if kept, else the pooled repeats."""
        return (self.error if self.pooled else self.interaction).mean_square


def two_way(table: Table, *, pool_above: float = 0.25) -> Anova:
    """The analysis of a full table. Raises ImpossibleInput for a `pool_above` not between 0 and 1.

    `pool_above=1` never pools, 0 always does (unless p is 0).
    """
    if not 0 <= pool_above <= 1:
        raise ImpossibleInput("limit of p for pooling", pool_above, "Give a number between 0 and 1")
    pieces, people, rounds = len(table.pieces), len(table.people), table.rounds
    ss = _sums_of_squares(table)
    repeat = _row("repeat", ss["repeat"], pieces * people * (rounds - 1))
    interaction = _row("piece × person", ss["interaction"], (pieces - 1) * (people - 1), against=repeat)
    pooled = interaction.p is None or interaction.p > pool_above
    error = (
        _row("repeat, pooled", ss["repeat"] + ss["interaction"], repeat.dof + interaction.dof)
        if pooled
        else repeat
    )
    base = error if pooled else interaction
    return Anova(
        piece=_row("piece", ss["piece"], pieces - 1, against=base),
        person=_row("person", ss["person"], people - 1, against=base),
        interaction=interaction,
        repeat=repeat,
        total=_row("total", ss["total"], pieces * people * rounds - 1),
        pooled=pooled,
        error=error,
    )


def variance_ratio(top: MeanSquare, bottom: MeanSquare) -> tuple[float | None, float | None]:
    """F = top/bottom and the chance of a larger one; F endless over nothing, none of nothing over nothing.

    >>> variance_ratio(MeanSquare(4.0, 2), MeanSquare(0.0, 9))
    (inf, 0.0)
    """
    if bottom.value_nm2 == 0:
        return (math.inf, 0.0) if top.value_nm2 else (None, None)
    f = top.value_nm2 / bottom.value_nm2
    return f, float(fdtrc(top.dof, bottom.dof, f))


def _sums_of_squares(table: Table) -> dict[str, Fraction]:
    values = table.all_values_nm
    by_piece = [sum(sum(cell) for cell in row) for row in table.values_nm]
    by_person = [sum(sum(row[who]) for row in table.values_nm) for who in range(len(table.people))]
    by_cell = [sum(cell) for _, _, cell in table.cells()]
    middle = Fraction(sum(values) ** 2, len(values))
    piece = _of_sums(by_piece, len(table.people) * table.rounds) - middle
    person = _of_sums(by_person, len(table.pieces) * table.rounds) - middle
    cells = _of_sums(by_cell, table.rounds) - middle
    total = _of_sums(values, 1) - middle
    return {
        "piece": piece,
        "person": person,
        "interaction": cells - piece - person,
        "repeat": total - cells,
        "total": total,
    }


def _of_sums(sums: list[int], count: int) -> Fraction:
    return Fraction(sum(one * one for one in sums), count)


def _row(source: str, squares: Fraction, dof: int, *, against: AnovaRow | None = None) -> AnovaRow:
    mean_square = float(squares / dof)
    f = p = None
    if against is not None:
        f, p = variance_ratio(MeanSquare(mean_square, dof), MeanSquare(against.mean_square_nm2, against.dof))
    return AnovaRow(source, float(squares), dof, mean_square, f, p)
