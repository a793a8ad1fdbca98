"""How far a batch lies off by point and side, by size, by person and by tape: for the pictures and tables."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inventory.calc.causes import Batch as Evidence
    from inventory.calc.causes import Reading


@dataclass(frozen=True, slots=True)
class Shift:
    """A mean deviation (nm), twice its standard error, and of how many readings; no error of a single one."""

    mean_nm: float
    doubt_nm: float | None
    count: int


@dataclass(frozen=True, slots=True)
class ShiftLine:
    """One line of a picture: what it is of, and a mean for each of its marks (a side, girths or lengths)."""

    name: str
    shifts: Mapping[str, Shift]


@dataclass(frozen=True, slots=True)
class SizeLines:
    """The sizes of one point, smallest first."""

    code: str
    lines: tuple[ShiftLine, ...]

    @property
    def title(self) -> str:
        return f"Mean deviation of {self.code} by size"


@dataclass(frozen=True, slots=True)
class BatchShifts:
    """All that is drawn: points by side; sizes of each point; people and tapes, girths and lengths apart.

    People and tapes are held against the mean of all readings of the same point and side, so that who read
    the points that are off is not blamed for them; nothing of a single person or tape.
    """

    points: tuple[ShiftLine, ...]
    sizes: tuple[SizeLines, ...]
    people: tuple[ShiftLine, ...]
    tapes: tuple[ShiftLine, ...]


GIRTHS = "girths"
LENGTHS = "lengths"
ALL = "all"


def shifts_of(evidence: Evidence) -> BatchShifts:
    """The means of a batch; nothing is asked of the database."""
    readings = evidence.readings
    codes = [point.code for point in evidence.points]
    girths = {point.code for point in evidence.points if point.is_girth}
    labels = {piece.size: piece.size_label for piece in evidence.pieces}
    label_of = {piece.name: piece.size_label for piece in evidence.pieces}
    usual = _usual(readings)
    beyond = [
        (
            reading,
            GIRTHS if reading.code in girths else LENGTHS,
            reading.deviation_nm - usual[_column(reading)],
        )
        for reading in readings
    ]
    return BatchShifts(
        points=_lines(((one.code, one.side, one.deviation_nm) for one in readings), codes),
        sizes=tuple(
            SizeLines(
                code,
                _lines(
                    ((label_of[one.piece], ALL, one.deviation_nm) for one in readings if one.code == code),
                    [labels[size] for size in sorted(labels)],
                ),
            )
            for code in codes
            if len(labels) > 1
        ),
        people=_compared((one.person, kind, off) for one, kind, off in beyond),
        tapes=_compared((one.tape, kind, off) for one, kind, off in beyond),
    )


def _column(reading: Reading) -> tuple[str, str]:
    return reading.code, reading.side


def _usual(readings: Iterable[Reading]) -> dict[tuple[str, str], float]:
    """The mean of each point and side."""
    groups: defaultdict[tuple[str, str], list[int]] = defaultdict(list)
    for reading in readings:
        groups[_column(reading)].append(reading.deviation_nm)
    return {column: sum(found) / len(found) for column, found in groups.items()}


def _lines(found: Iterable[tuple[str, str, float]], names: Iterable[str]) -> tuple[ShiftLine, ...]:
    """Deviations, each with the name of its line and its mark, as lines in the order of the names."""
    groups: defaultdict[str, defaultdict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for name, mark, deviation_nm in found:
        groups[name][mark].append(deviation_nm)
    return tuple(
        ShiftLine(name, {mark: _shift(values) for mark, values in sorted(groups[name].items())})
        for name in names
        if name in groups
    )


def _compared(found: Iterable[tuple[str, str, float]]) -> tuple[ShiftLine, ...]:
    """Lines in the order of their names; none where there is nobody to compare with."""
    rows = list(found)
    names = sorted({name for name, _, _ in rows})
    return _lines(rows, names) if len(names) > 1 else ()


def _shift(found: list[float]) -> Shift:
    count = len(found)
    mean = sum(found) / count
    if count == 1:
        return Shift(mean, None, count)
    sd = math.sqrt(sum((value - mean) ** 2 for value in found) / (count - 1))
    return Shift(mean, 2 * sd / math.sqrt(count), count)
