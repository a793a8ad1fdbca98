"""Heaps in a file: figures of one person or of one point that are round, or hit the nominal, too often.

Seeing the nominal pulls a reading to it, and reading in a hurry rounds it. How often is too often is worked
out in `inventory.calc.slips.heaps` (its method and source stand there): against a normal spread around each
nominal, with the chance from the binomial distribution. Here many persons and points are looked at in one
file, and the more one looks at, the likelier one of them looks odd by chance. So the chance is multiplied by
how many were looked at (the bound of Bonferroni, from memory), and told only if it is still below 1 in 1000.
Cells that look like slips are left out; they are asked about by themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.calc import length, slips
from inventory.services.importing.guard import kinds_of, nominals_of

if TYPE_CHECKING:
    from inventory.calc.conformity import Lengths
    from inventory.calc.judging.arrays import Flags
    from inventory.services.importing.books import Books
    from inventory.services.importing.pieces import Pieces
    from inventory.services.importing.report import Report

FEWEST: Final = 50
"""With fewer readings of one person or point nothing is said."""
TELLING: Final = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class _Heap:
    """Readings of one person or point in one unit, each beside its nominal (nm)."""

    what: str
    unit: str
    nm: Lengths
    nominal_nm: Lengths


def look_for_heaps(pieces: Pieces, books: Books, report: Report, *, odd: Flags) -> None:
    """Note for each person and each point whether their figures heap, those that are `odd` aside."""
    heaps = [heap for heap in _heaps(pieces, books, odd) if len(heap.nm) >= FEWEST]
    found: list[tuple[float, list[str | int]]] = []
    for heap in heaps:
        values_nm = heap.nm.tolist()
        of_heap = slips.heaping(
            values_nm,
            nominals_nm=heap.nominal_nm.tolist(),
            unit=length.Unit(heap.unit),
            denominator=slips.division_of(values_nm),
        )
        words = "whole or half inches" if heap.unit == "in" else "ends in 0 or 5 mm"
        for count, expected, chance, kind in (
            (of_heap.round_count, of_heap.round_expected, of_heap.round_chance, words),
            (of_heap.exact_count, of_heap.exact_expected, of_heap.exact_chance, "exactly the nominal"),
        ):
            # Two heaps are looked for in each.
            if chance * len(heaps) * 2 < TELLING:
                found.append((chance, [heap.what, kind, len(heap.nm), count, round(expected)]))
    report.heaps = [line for _, line in sorted(found, key=lambda one: one[0])]


def _heaps(pieces: Pieces, books: Books, odd: Flags) -> Iterator[_Heap]:
    """All readings that are not odd by person, then by point."""
    kinds = kinds_of(pieces)
    together: dict[tuple[str, str], list[tuple[Lengths, Lengths]]] = {}
    for across, column in enumerate(pieces.readings):
        nominal = nominals_of(kinds, books, column.code)[kinds.place]
        read = np.flatnonzero((column.nm >= 0) & (nominal >= 0) & ~odd[:, across])
        keys = [(column.person[piece], column.unit[piece]) for piece in read.tolist()]
        known = {key: place for place, key in enumerate(dict.fromkeys(keys))}
        of_key = np.fromiter(map(known.__getitem__, keys), np.int64, len(keys))
        for (person, unit), place in known.items():
            chosen = read[of_key == place]
            for what in (f"read by {person}", f"point {column.code}"):
                together.setdefault((what, unit), []).append((column.nm[chosen], nominal[chosen]))
    for (what, unit), parts in together.items():
        nm, nominal = (np.concatenate([pair[place] for pair in parts]) for place in (0, 1))
        yield _Heap(what, unit, nm, nominal)
