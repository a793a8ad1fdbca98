"""Heaps in a file: figures of one person or of one point that are round, or hit the nominal, too often.

Seeing the nominal pulls a reading to it, and reading in a hurry rounds it. How often is too often is worked
out in `inventory.calc.slips.heaps` (its method and source stand there): against a normal spread around each
nominal, with the chance from the binomial distribution. Each point of each batch spreads in its own way, and
so does each person at it, so what chance would give is worked out for each such part and added up. Parts of
too few readings to know their spread are joined, or left out. Here many persons and points are looked at in
one file, and the more one looks at, the likelier one of them looks odd by chance. So the chance is multiplied
by how many were looked at (the bound of Bonferroni, from memory), and told only if it is still below 1 in
1000. Cells that look like slips are left out; they are asked about by themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.calc import length, slips
from inventory.calc.conformity import Lengths
from inventory.services.importing.expected_figures import kinds_of, nominals_of

if TYPE_CHECKING:
    from inventory.calc.judging.arrays import Flags
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces
    from inventory.services.importing.report import Report

FEWEST: Final = 50
"""With fewer readings of one person or point nothing is said."""
TELLING: Final = 0.001


FEWEST_IN_PART: Final = 20
"""So many readings tell a spread well enough; checked on simulated honest readings."""

Part = tuple[Lengths, Lengths]
"""Readings and their nominals (nm)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Heap:
    """Readings of one person or point in one unit, in parts of one spread each."""

    what: str
    unit: str
    parts: list[Part]

    @property
    def readings(self) -> int:
        return sum(len(nm) for nm, _ in self.parts)


def look_for_heaps(pieces: Pieces, books: Books, report: Report, *, odd: Flags) -> None:
    """Note for each person and each point whether their figures heap, those that are `odd` aside."""
    heaps = [heap for heap in _heaps(pieces, books, odd) if heap.readings >= FEWEST]
    found: list[tuple[float, list[str | int]]] = []
    for heap in heaps:
        of_heap = _looked_at(heap)
        words = "whole or half inches" if heap.unit == "in" else "ends in 0 or 5 mm"
        for count, expected, chance, kind in (
            (of_heap.round_count, of_heap.round_expected, of_heap.round_chance, words),
            (of_heap.exact_count, of_heap.exact_expected, of_heap.exact_chance, "exactly the nominal"),
        ):
            # Two heaps are looked for in each.
            if chance * len(heaps) * 2 < TELLING:
                found.append((chance, [heap.what, kind, heap.readings, count, round(expected)]))
    report.heaps = [line for _, line in sorted(found, key=lambda one: one[0])]


def _looked_at(heap: _Heap) -> slips.Heaping:
    unit = length.Unit(heap.unit)
    division = slips.division_of(np.concatenate([nm for nm, _ in heap.parts]).tolist())
    return slips.heaping_together(
        [
            slips.heaping(nm.tolist(), nominals_nm=nominal.tolist(), unit=unit, denominator=division)
            for nm, nominal in heap.parts
        ],
        unit=unit,
    )


def _heaps(pieces: Pieces, books: Books, odd: Flags) -> Iterator[_Heap]:
    """All readings that are not odd by person, then by point."""
    kinds = kinds_of(pieces)
    group = np.array(pieces.group, np.int64)
    together: dict[tuple[str, str], dict[tuple[str, int], list[Part]]] = {}
    for across, column in enumerate(pieces.readings):
        nominal = nominals_of(kinds, books, column.code)[kinds.place]
        read = np.flatnonzero((column.nm >= 0) & (nominal >= 0) & ~odd[:, across])
        keys = [(column.person[piece], column.unit[piece], int(group[piece])) for piece in read.tolist()]
        known = {key: place for place, key in enumerate(dict.fromkeys(keys))}
        of_key = np.fromiter(map(known.__getitem__, keys), np.int64, len(keys))
        for (person, unit, batch), place in known.items():
            chosen = read[of_key == place]
            part = (column.nm[chosen], nominal[chosen])
            for what, of in ((f"read by {person}", column.code), (f"point {column.code}", person)):
                together.setdefault((what, unit), {}).setdefault((of, batch), []).append(part)
    for (what, unit), parts in together.items():
        yield _Heap(what, unit, _large_enough({key: _joined(some) for key, some in parts.items()}))


def _large_enough(parts: dict[tuple[str, int], Part]) -> list[Part]:
    """The parts that tell their spread; small ones of several batches joined, left out if still small."""
    small: dict[str, list[Part]] = {}
    for (of, _), part in parts.items():
        if len(part[0]) < FEWEST_IN_PART:
            small.setdefault(of, []).append(part)
    whole = [part for part in parts.values() if len(part[0]) >= FEWEST_IN_PART]
    return whole + [part for some in small.values() if len((part := _joined(some))[0]) >= FEWEST_IN_PART]


def _joined(parts: list[Part]) -> Part:
    return np.concatenate([nm for nm, _ in parts]), np.concatenate([nominal for _, nominal in parts])
