"""How far a batch usually lies from its nominal at one point: a maker's habit, not a slip of the reader."""

from __future__ import annotations

from statistics import median_low
from typing import TYPE_CHECKING, Final

from inventory.models import Reading
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from inventory.models import MeasurePoint, Piece

FEWEST_PIECES: Final = 5
"""With fewer, two kept slips would make a habit (common practice, no source)."""
_NEWEST: Final = 200


def batch_shift_at(piece: Piece, point: MeasurePoint) -> int:
    """The usual deviation (nm) of the other pieces of the batch at a point; 0 while too few are read.

    Each piece is held against the nominal of its own size, its readings in effect brought to one mean. The
    median of the pieces, not their mean: one slip that was kept would move the mean of five by thousands.
    Only the newest readings are looked at, so that a large batch costs no more. One statement.
    `piece.batch.style` should be loaded.
    """
    plans = plans_of(piece.batch).by_size
    rows = (
        Reading.objects.in_effect()
        .filter(point=point, inspection__piece__batch=piece.batch_id)
        .exclude(inspection__piece=piece)
        .order_by("-pk")
        .values_list("inspection__piece", "inspection__piece__size_label", "length_nm")[:_NEWEST]
    )
    by_piece: dict[int, list[int]] = {}
    for number, size_label, length_nm in rows:
        plan = plans.get(size_label, {}).get(point.code)
        if plan is not None:
            by_piece.setdefault(number, []).append(length_nm - plan.nominal_nm)
    if len(by_piece) < FEWEST_PIECES:
        return 0
    return median_low([sum(off) // len(off) for off in by_piece.values()])
