"""Readings of a study that lie too far from what their piece and their person would give.

Such a reading is more often typed or read wrongly than honest, and one of them can fill a whole study. It is
named, never removed: whoever took it says what happened.
"""

import math
from dataclasses import dataclass

from scipy.special import stdtr

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study.readings import Table


@dataclass(frozen=True, slots=True)
class Outlying:
    """A reading, how far it is from where its piece and person put it (nm), and how likely that is by chance.

    `p` counts all readings of the study: in a study without any slip one is named with about that chance.
    """

    piece: str
    person: str
    round: int
    value_nm: int
    off_nm: float
    p: float


def outlying(table: Table, *, chance: float = 0.05) -> tuple[Outlying, ...]:
    """Readings whose residual from piece + person stands out, the furthest first.

    Each is compared with the spread of all others (externally studentised residual, Student's t), times the
    number of readings (Bonferroni): the mean-shift test for an outlier of Cook and Weisberg (1982), from
    memory. Raises ImpossibleInput for a `chance` not between 0 and 1.
    """
    if not 0 < chance < 1:
        raise ImpossibleInput("chance of a false alarm", chance, "Give a number between 0 and 1")
    pieces, people, rounds = len(table.pieces), len(table.people), table.rounds
    count = pieces * people * rounds
    off = _residuals(table)
    # In a full table every reading pulls its own piece's and person's mean alike.
    free = 1 - (pieces + people - 1) / count
    squares = math.fsum(one * one for cell in off.values() for one in cell)
    dof = count - (pieces + people - 1) - 1
    found = []
    for (piece, who), cell in off.items():
        for number, one in enumerate(cell, start=1):
            p = min(1.0, count * _two_sided(one, squares=squares, free=free, dof=dof))
            if p < chance:
                value_nm = table.values_nm[piece][who][number - 1]
                found.append(
                    Outlying(table.pieces[piece], table.people[who], number, value_nm, one / free, p)
                )
    return tuple(sorted(found, key=lambda one: (one.p, -abs(one.off_nm))))


def _residuals(table: Table) -> dict[tuple[int, int], list[float]]:
    middle = _mean(table.all_values_nm)
    of_piece = [_mean([value for cell in row for value in cell]) for row in table.values_nm]
    of_person = [
        _mean([value for row in table.values_nm for value in row[who]]) for who in range(len(table.people))
    ]
    return {
        (piece, who): [value - of_piece[piece] - of_person[who] + middle for value in cell]
        for piece, who, cell in table.cells()
    }


def _two_sided(off_nm: float, *, squares: float, free: float, dof: int) -> float:
    """The chance of a residual this far out, were the reading like the others."""
    rest = squares - off_nm * off_nm / free
    if rest <= 1e-9 * squares:  # all others agree to the nanometre, up to the noise of floats
        return 0.0 if off_nm * off_nm > 1e-9 * squares else 1.0
    t = off_nm / math.sqrt(rest / dof * free)
    return 2 * float(stdtr(dof, -abs(t)))


def _mean(values: list[int]) -> float:
    return sum(values) / len(values)
