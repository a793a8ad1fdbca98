"""A sitting for a piece: the open one, or a new one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, require
from inventory.models import Inspection, Piece, Shop
from inventory.models.inspections import PieceState, Source
from inventory.services.audit import leave_row

if TYPE_CHECKING:
    import datetime as dt
    from decimal import Decimal

    from inventory.models import Instrument, User


@transaction.atomic
def open_inspection(
    *,
    piece: Piece,
    by: User,
    at: dt.datetime,
    unit: str | None = None,
    instrument: Instrument | None = None,
    piece_state: str = PieceState.AS_RECEIVED,
    source: str = Source.BENCH,
    blind: bool | None = None,
    room_temperature_c: Decimal | None = None,
    room_humidity_percent: int | None = None,
) -> Inspection:
    """The piece's open sitting, or a new one; two people on one piece share the sitting.

    The unit is that of the spec unless another is named. `piece.batch.spec` should be loaded.
    """
    require(by, Deed.MEASURE)
    # Two people who scan the same tag at once must end up in one sitting: the second waits here.
    Piece.objects.select_for_update().only("pk").get(pk=piece.pk)
    waiting = piece.inspections.filter(finished_at=None, piece_state=piece_state).first()
    if waiting is not None:
        waiting.piece = piece
        return waiting
    inspection = Inspection.objects.create(
        piece=piece,
        piece_state=piece_state,
        source=source,
        unit=unit or piece.batch.spec.unit_of_record,
        instrument=instrument,
        opened_by=by,
        opened_at=at,
        blind=Shop.objects.current().blind_entry if blind is None else blind,
        room_temperature_c=room_temperature_c,
        room_humidity_percent=room_humidity_percent,
    )
    leave_row(who=by, deed="open inspection", subject=inspection, at=at, piece=piece.label)
    return inspection
