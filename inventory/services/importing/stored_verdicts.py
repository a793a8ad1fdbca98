"""Verdicts of the pieces of a file into the database, each beside its basis."""

from __future__ import annotations

from itertools import repeat
from typing import TYPE_CHECKING, Any, Final

from inventory.models import PieceVerdict
from inventory.services.bulk import insert_rows, moment, reserve_ids
from inventory.services.judging import basis_for

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from inventory.models import Batch, Shop, User
    from inventory.services.importing.judging import Judged
    from inventory.services.importing.stored_readings import Sittings

CURRENT: Final = True
Row = tuple[Any, ...]  # Any: values as the database takes them

VERDICT = [
    "id", "piece", "inspection", "basis", "is_current", "shelf", "claim", "worst_point", "worst_aspect",
    "size_suspected", "fits_size", "size_margin_nm", "findings", "corrections",
    "judged_by", "judged_at",
]  # fmt: skip


def write_verdicts(
    judged: list[Judged],
    batches: list[Batch],
    piece_ids: Sequence[int],
    sittings: Sittings,
    *,
    shop: Shop,
    by: User,
    at: dt.datetime,
) -> int:
    """The current verdict of every piece that was judged; return how many."""
    now = moment(at)
    count = sum(len(one.piece) for one in judged)
    ids = reserve_ids(PieceVerdict, count)
    batch_of = {batch.spec_id: batch for batch in batches}
    rows: list[Row] = []
    for one in judged:
        basis = basis_for(batch_of[one.spec.pk], one.size, one.plans, shop=shop, at=at).pk
        rows.extend(
            zip(
                ids[len(rows) : len(rows) + len(one.piece)],
                [piece_ids[piece] for piece in one.piece],
                [sittings[piece] for piece in one.piece],
                repeat(basis),
                repeat(CURRENT),
                one.shelf,
                one.claim,
                one.worst_point,
                one.worst_aspect,
                one.suspected,
                one.fits,
                one.margin_nm,
                one.findings,
                repeat(one.corrections),
                repeat(by.pk),
                repeat(now),
            )
        )
    insert_rows(PieceVerdict, VERDICT, sorted(rows, key=lambda row: row[1]))
    return count
