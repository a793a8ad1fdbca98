"""A whole batch, measured: for what is asked of many readings at once."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from inventory.models import Reading, SpecCell
from tests import factories
from tests.factories import MM, NOW

if TYPE_CHECKING:
    from inventory.models import Batch, Spec, User


def make_measured_batch(
    spec: Spec | None = None,
    *,
    pieces: int = 12,
    off_mm: Callable[[int, str, str], float] = lambda place, code, side: (place + len(code + side)) % 3 - 1,
    people: Sequence[User] = (),
    taken_at: dt.datetime = NOW,
    state: str = "as_received",
    **fields: object,
) -> Batch:
    """A batch read in full, sizes and people in turn; `off_mm` by place in the batch, point and side."""
    batch = factories.make_batch(spec, **fields)
    readers = people or (factories.make_user(), factories.make_user())
    cells: dict[str, list[SpecCell]] = {}
    for cell in SpecCell.objects.filter(spec_point__spec=batch.spec).select_related(
        "size", "spec_point__point"
    ):
        cells.setdefault(cell.size.label, []).append(cell)
    sizes, rows = list(cells), []
    for place in range(pieces):
        piece = factories.make_piece(batch, size_label=sizes[place % len(sizes)])
        sitting = factories.make_inspection(
            piece, opened_by=readers[place % len(readers)], opened_at=taken_at, finished_at=taken_at
        )
        at = taken_at + dt.timedelta(minutes=10 * place)
        for cell in cells[piece.size_label]:
            point = cell.spec_point.point
            for side in point.sides_read:
                length_nm = cell.nominal_nm + round(off_mm(place, point.code, side) * MM)
                rows.append(
                    Reading(
                        inspection=sitting,
                        point=point,
                        side=side,
                        typed=f"{length_nm / MM:g}",
                        unit="mm",
                        length_nm=length_nm,
                        taken_by=sitting.opened_by,
                        taken_at=at,
                        recorded_at=at,
                        piece_state=state,
                    )
                )
    Reading.objects.bulk_create(rows)
    return batch
