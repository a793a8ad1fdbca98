"""Full girths where the spec has halves, and the other way round: asked about once for columns or rows.

Who measures the whole way round, or takes over figures of somebody who did, does so at every point; a spec
that is meant for girths raises the same question at every half.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.calc.slips import SlipKind
from inventory.services.importing.other_unit import (
    cells_read,
    column_name,
    rows_in_words,
    whole_columns,
    whole_rows,
)
from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inventory.calc.judging.arrays import Flags
    from inventory.services.importing.pieces import Pieces
    from inventory.services.importing.report import Report

_HALVES: Final = (
    "look like full girths, but the spec has halves. Are they? Then write half of each into the file and "
    "upload it again; what a left half differs from a right one cannot be told from a girth."
)
_FULL: Final = (
    "look like halves, but the spec has full girths. Are they? Then write the whole girth, both halves "
    "together, into the file and upload it again."
)
GIRTHS: Final = {SlipKind.FULL_FOR_HALF: _HALVES, SlipKind.HALF_FOR_FULL: _FULL}
"""What is asked, by the slip that each figure looks like."""


def tell_girths(looks: Mapping[SlipKind, Flags], pieces: Pieces, report: Report, *, wide: bool) -> Flags:
    """Note which columns and which rows are halves or girths as a whole; says which cells that answers for.

    `looks` says by slip which cells look like it, pieces down and columns of readings across.
    """
    read = cells_read(pieces)
    told: Flags = np.zeros(read.shape, np.bool_)
    for kind, question in GIRTHS.items():
        like = looks[kind]
        told |= _columns(like, read, pieces, report, question, wide=wide)
        told |= _rows(like & ~told, read, pieces, report, question, wide=wide)
    return told


def _columns(like: Flags, read: Flags, pieces: Pieces, report: Report, question: str, *, wide: bool) -> Flags:
    whole = whole_columns(like, read)
    places = np.flatnonzero(whole).tolist()
    of_columns: Flags = like & whole
    if places:
        names = list(dict.fromkeys(column_name(pieces, place, wide=wide) for place in places))
        cells, of = int(of_columns.sum()), int(read[:, places].sum())
        report.suspect_together(
            int(pieces.row[int(np.argmax(of_columns.any(axis=1)))]),
            names[0] if len(names) == 1 else f"{len(names)} columns",
            cells,
            f"{cells} of {of} figures of {listed(names)} {question}",
        )
    return of_columns


def _rows(like: Flags, read: Flags, pieces: Pieces, report: Report, question: str, *, wide: bool) -> Flags:
    """Only where a figure of some piece looks so there can be a girth; lengths beside them say nothing."""
    whole = whole_rows(like, read & like.any(axis=0))
    places = np.flatnonzero(whole).tolist()
    of_rows: Flags = like & whole[:, None]
    if places:
        what, where = rows_in_words(places, pieces, wide=wide)
        cells = int(of_rows.sum())
        report.suspect_together(pieces.row[places[0]], what, cells, f"{cells} figures in {where} {question}")
    return of_rows
