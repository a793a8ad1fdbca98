"""From readings as they were taken to a full table: every piece by every person in every round.

A piece with a reading missing is left out whole, and named: filling gaps would make up figures, and sums of
squares with holes mean different things to different books. If too little is left, the study is refused and
says which readings are missing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study.plan import MIN_PIECES, check_size

_NAMED: Final = 6


@dataclass(frozen=True, slots=True)
class StudyReading:
    """What one person read (nm) at one piece in one round, numbered from 1."""

    piece: str
    person: str
    round: int
    value_nm: int


@dataclass(frozen=True, slots=True)
class Table:
    """A full table: `values_nm[piece][person][round]`, the names in the same order, and what was left out."""

    pieces: tuple[str, ...]
    people: tuple[str, ...]
    rounds: int
    values_nm: tuple[tuple[tuple[int, ...], ...], ...]
    left_out: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def all_values_nm(self) -> list[int]:
        """Every reading (nm), piece by piece."""
        return [value for piece in self.values_nm for cell in piece for value in cell]

    def cells(self) -> list[tuple[int, int, tuple[int, ...]]]:
        """Number of the piece, number of the person (both from 0), and her readings (nm) there."""
        return [
            (piece, person, cell)
            for piece, row in enumerate(self.values_nm)
            for person, cell in enumerate(row)
        ]


def arrange(readings: Sequence[StudyReading]) -> Table:
    """The full table of a study; pieces with a missing reading are left out whole and named.

    Raises ImpossibleInput for the same reading twice, and when fewer than 5 full pieces, 2 people or 2
    rounds are there.

    >>> readings = [StudyReading(p, who, n, 300) for p in "abcdef" for who in ("x", "y") for n in (1, 2)]
    >>> table = arrange(readings[:-1])
    >>> table.pieces, table.left_out, table.missing
    (('a', 'b', 'c', 'd', 'e'), ('f',), ('piece f by y in round 2',))
    """
    cells: dict[tuple[str, str, int], int] = {}
    for reading in readings:
        key = (reading.piece, reading.person, reading.round)
        if key in cells:
            raise ImpossibleInput("reading", f"there twice: {_named(key)}", "Keep one of the two")
        cells[key] = reading.value_nm
    pieces = list(dict.fromkeys(reading.piece for reading in readings))
    people = list(dict.fromkeys(reading.person for reading in readings))
    rounds = sorted({reading.round for reading in readings})
    check_size(pieces=len(pieces), people=len(people), rounds=len(rounds))
    missing = {
        piece: holes
        for piece in pieces
        if (holes := [key for who in people for n in rounds if (key := (piece, who, n)) not in cells])
    }
    full = [piece for piece in pieces if piece not in missing]
    names = tuple(_named(key) for holes in missing.values() for key in holes)
    if len(full) < MIN_PIECES:
        more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
        raise ImpossibleInput(
            "number of pieces read by everybody in every round",
            f"{len(full)}; missing: {', '.join(names[:_NAMED])}{more}",
            "Take the missing readings; at least 5 full pieces are needed",
        )
    return Table(
        pieces=tuple(full),
        people=tuple(people),
        rounds=len(rounds),
        values_nm=tuple(
            tuple(tuple(cells[piece, who, n] for n in rounds) for who in people) for piece in full
        ),
        left_out=tuple(missing),
        missing=names,
    )


def _named(key: tuple[str, str, int]) -> str:
    piece, who, round_number = key
    return f"piece {piece} by {who} in round {round_number}"
