"""A side that cannot be read: a torn edge, a seam that will not lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, require
from inventory.models import UnreadSide
from inventory.services.audit import leave_row
from inventory.services.inspections.opening import open_inspection
from inventory.services.inspections.refusals import CannotSkip

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import MeasurePoint, Piece, User


@transaction.atomic
def note_unread_side(
    *, piece: Piece, point: MeasurePoint, side: str, reason: str, by: User, at: dt.datetime
) -> UnreadSide:
    """Note that one half of a pair cannot be read; the full girth is then twice the other half.

    Only a half girth has a stand-in, and only when the other half is there. A later reading of the side makes
    the note void. It goes into the piece's open sitting, or begins one. Raises `CannotSkip`.
    """
    require(by, Deed.MEASURE)
    if not reason.strip():
        raise CannotSkip(
            "Say why the side cannot be read, such as 'edge torn'. Nothing was stored.", field="reason"
        )
    if point.kind != "half" or not point.is_paired or side not in point.sides_read:
        raise CannotSkip(
            f"{point.code} {point.name} has no other half to stand in for it. Measure it, or note a defect "
            "and leave the piece on hold."
        )
    inspection = piece.inspections.filter(finished_at=None).last() or open_inspection(
        piece=piece, by=by, at=at
    )
    if UnreadSide.objects.filter(inspection=inspection, point=point).exclude(side=side).exists():
        raise CannotSkip(
            f"The other half of {point.code} {point.name} could not be read either, so nothing is left to "
            "judge. Measure one of them, or note a defect and leave the piece on hold."
        )
    noted, created = UnreadSide.objects.get_or_create(
        inspection=inspection,
        point=point,
        side=side,
        defaults={"reason": reason.strip(), "noted_by": by, "noted_at": at},
    )
    if created:
        leave_row(who=by, deed="note unread side", subject=noted, at=at, reason=noted.reason)
    return noted
