"""Causes that sit in one piece or a few: the wrong label, a swapped panel, a piece that was worn. In mm.

The usual sizes of the effects are common practice, no source.
"""

from collections import defaultdict
from collections.abc import Iterator
from itertools import chain
from typing import Final

import numpy as np

from inventory.calc.causes.layout import NOWHERE, SINGLE, Floats, Layout
from inventory.calc.causes.making import ONE_STEP, waist
from inventory.calc.causes.variants import Prior, Variant, Variants, Where, gather, packed

PANEL: Final = Prior(0.0, 8.0)
WORN: Final = Prior(8.0, 4.0)
"""A waist gives way when worn: always wider."""

TRIED_ON: Final = 10.0
"""How much likelier a piece noted as tried on is to have been worn than one without a note."""

LEAST_LEVELS, MOST_LEVELS = 2, 3
"""A panel shows at neighbouring girths; at one alone it cannot be told from a wrong reading."""


def label(layout: Layout) -> Variants | None:
    """One piece: at every point the step to the next size up, or down."""
    labels = {piece.size: piece.size_label for piece in layout.batch.pieces}
    sizes = [piece.size for piece in layout.batch.pieces]
    ways = ((1, np.nan_to_num(layout.step_up)), (-1, np.nan_to_num(layout.step_down)))
    return gather(
        (
            Variant(
                Where(pieces=(name,), size=labels.get(sizes[place] + way, ""), fits_size=way),
                step * mine,
                group=place,
            )
            for place, name, mine in _each_piece(layout)
            for way, step in ways
        ),
        ONE_STEP,
    )


def worn(layout: Layout) -> Variants | None:
    """One piece: the waist on both sides; likelier where a note says it was tried on."""
    at, codes = waist(layout)
    tried = [piece.tried_on for piece in layout.batch.pieces]
    return gather(
        (
            Variant(
                Where(pieces=(name,), codes=codes),
                at * mine,
                weight=TRIED_ON if tried[place] else 1.0,
                group=place,
            )
            for place, name, mine in _each_piece(layout)
        ),
        WORN,
    )


def panel(layout: Layout) -> Variants | None:
    """One side of one piece: the same mm over two or three neighbouring girths."""
    by_side: dict[tuple[int, int], dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
    paired = np.flatnonzero((layout.level != NOWHERE) & (layout.side != SINGLE) & layout.inside)
    columns = (layout.piece[paired], layout.side[paired], layout.level[paired], paired)
    for piece, side, level, row in zip(*(column.tolist() for column in columns), strict=True):
        by_side[piece, side][level].append(row)
    rows = [
        sorted(chain.from_iterable(levels[level] for level in run))
        for levels in by_side.values()
        for run in _runs(sorted(levels))
    ]
    if not rows:
        return None
    flat = list(chain.from_iterable(rows))
    return packed(
        where=lambda which: _side_of(layout, rows[which]),
        rows=np.array(flat, dtype=np.int64),
        values=np.ones(len(flat)),
        lengths=[len(at) for at in rows],
        weights=[1.0] * len(rows),
        groups=range(len(rows)),
        prior=PANEL,
        height=layout.rows,
    )


def _side_of(layout: Layout, rows: list[int]) -> Where:
    points, piece = layout.batch.points, layout.batch.pieces[layout.piece[rows[0]]]
    codes = dict.fromkeys(points[layout.point[row]].code for row in rows)
    return Where((piece.name,), "LR"[layout.side[rows[0]]], tuple(codes))


def _runs(levels: list[int]) -> Iterator[list[int]]:
    for length in range(LEAST_LEVELS, MOST_LEVELS + 1):
        for first in range(len(levels) - length + 1):
            yield levels[first : first + length]


def _each_piece(layout: Layout) -> Iterator[tuple[int, str, Floats]]:
    for place, piece in enumerate(layout.batch.pieces):
        yield place, piece.name, (layout.piece == place).astype(float)
