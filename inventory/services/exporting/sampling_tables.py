"""The tables of sampling: what was agreed, what was drawn, what was decided."""

from __future__ import annotations

from typing import Final

from inventory.models import BatchDecision, BatchSampling, DrawnPiece, SamplingScheme, SwitchingNote
from inventory.services.exporting.columns import table_of as _table
from inventory.services.exporting.references import BATCH, PIECE, maker, person, point, style

_SAMPLE: Final = ("sampling", "samples", (("batch", "sampling__batch__number"),))

SAMPLING_TABLES: Final = (
    _table(
        "sampling_schemes",
        SamplingScheme,
        key=("scheme",),
        own_key="scheme",
        refs=[maker(), style(), point(style="point_style"), person("set_by")],
    ),
    _table(
        "samples",
        BatchSampling,
        key=("batch",),
        own_key="id",
        refs=[BATCH, ("scheme", "sampling_schemes", (("scheme", "scheme"),)), person("drawn_by")],
    ),
    _table("drawn_pieces", DrawnPiece, key=("piece",), own_key="id", refs=[_SAMPLE, PIECE]),
    _table(
        "batch_decisions", BatchDecision, key=("batch",), own_key="id", refs=[_SAMPLE, person("decided_by")]
    ),
    _table(
        "switching_notes",
        SwitchingNote,
        key=("switching_note",),
        own_key="switching_note",
        refs=[maker(), style(), person("noted_by")],
    ),
)
