"""A paper worksheet typed in: all its boxes, or none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc import length
from inventory.calc.errors import CalcError
from inventory.models import Inspection
from inventory.models.inspections import PieceState, Source
from inventory.queries.plans import plans_of
from inventory.services.inspections.opening import open_inspection
from inventory.services.inspections.readings import record_reading
from inventory.services.inspections.refusals import AlreadyAtTheBench, WorksheetRefused

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    from inventory.models import Instrument, Piece, User


@transaction.atomic
def record_worksheet(
    *,
    piece: Piece,
    boxes: Mapping[tuple[str, str], str],
    unit: length.Unit,
    by: User,
    at: dt.datetime,
    measured_at: dt.datetime,
    instrument: Instrument | None = None,
    piece_state: str = PieceState.AS_RECEIVED,
) -> Inspection:
    """Store a filled worksheet as a sitting of its own; boxes left empty stay to be read.

    `boxes` maps (point code, side) to the text on paper; `by` is who measured. Raises `WorksheetRefused` with
    a sentence per box that cannot be stored, and `AlreadyAtTheBench`; nothing is stored then.
    """
    require(by, Deed.MEASURE)
    filled = {column: typed for column, typed in boxes.items() if typed.strip()}
    _check(filled, unit=unit)
    waiting = piece.inspections.filter(finished_at=None).exclude(source=Source.PAPER).first()
    if waiting is not None:
        raise AlreadyAtTheBench(
            f"Piece {piece.label} is being measured on screen since {waiting.opened_at:%d %B %H:%M}. "
            "Finish that sitting first, then type the worksheet in."
        )
    inspection = open_inspection(
        piece=piece, by=by, at=at, unit=unit.value, instrument=instrument, piece_state=piece_state,
        source=Source.PAPER,
    )  # fmt: skip
    points = plans_of(piece.batch).points
    for (code, side), typed in filled.items():
        record_reading(
            inspection=inspection,
            point=points[code],
            side=side,
            typed=typed,
            unit=unit,
            by=by,
            at=at,
            taken_at=measured_at,
            instrument=instrument,
        )
    return inspection


def _check(filled: Mapping[tuple[str, str], str], *, unit: length.Unit) -> None:
    wrong = {}
    for column, typed in filled.items():
        try:
            length.parse(typed, unit=unit)
        except CalcError as refusal:
            wrong[column] = str(refusal)
    if wrong:
        raise WorksheetRefused(wrong)
    if not filled:
        raise WorksheetRefused({})
