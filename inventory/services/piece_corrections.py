"""Put right what was typed wrong when a piece was numbered: the size or the colour on its label."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, require
from inventory.models import Piece, PieceVerdict
from inventory.models.pieces import Standing
from inventory.services.audit import leave_row
from inventory.services.dispositions import decide_disposition
from inventory.services.judging import judge_inspection
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


class CannotCorrectPiece(Refused):
    """The correction lacks its reason, changes nothing, or names a size that the spec does not have."""


@dataclass(frozen=True, slots=True)
class Corrected:
    """The piece as it stands now; `verdict` is the new one if it was judged again, else None.

    `put_on_hold` when it had been released and is not in tolerance by the size it really has.
    """

    piece: Piece
    verdict: PieceVerdict | None
    put_on_hold: bool


@transaction.atomic
def correct_piece(
    *, piece: Piece, size_label: str, colour: str, reason: str, by: User, at: dt.datetime
) -> Corrected:
    """Correct size and colour with a reason; a judged piece is judged again by the size it really has.

    The earlier verdict stays in the record with all it was judged on. This is for what we typed wrong; a size
    the maker labelled wrong is a re-label. Raises `CannotCorrectPiece` and `NotYetMeasured`; nothing is
    stored then.
    """
    require(by, Deed.RECEIVE)
    stored = (
        Piece.objects.select_for_update(of=("self",))
        .select_related("batch__style", "batch__spec__style")
        .get(pk=piece.pk)
    )
    colour, reason = colour.strip(), reason.strip()
    changed = {
        name: [before, after]
        for name, before, after in (
            ("size_label", stored.size_label, size_label),
            ("colour", stored.colour, colour),
        )
        if before != after
    }
    _check(stored, size_label=size_label, colour=colour, reason=reason, changed=bool(changed))
    stored.size_label, stored.colour = size_label, colour
    stored.save(update_fields=["size_label", "colour"])
    leave_row(who=by, deed="correct piece", subject=stored, at=at, reason=reason, **changed)
    verdict = _judge_again(stored, by=by, at=at) if "size_label" in changed else None
    put_on_hold = verdict is not None and verdict.shelf != "in" and stored.standing == Standing.RELEASE
    if put_on_hold:
        why = f"Size corrected from {changed['size_label'][0]} to {size_label}: {reason}"
        decide_disposition(piece=stored, decision=Standing.HOLD, by=by, at=at, reason=why[:300])
    return Corrected(stored, verdict, put_on_hold)


def _check(piece: Piece, *, size_label: str, colour: str, reason: str, changed: bool) -> None:
    sizes = list(piece.batch.spec.sizes.values_list("label", flat=True))
    if size_label not in sizes:
        raise CannotCorrectPiece(
            f"Size {size_label!r} is not in spec {piece.batch.spec}, which has {', '.join(sizes)}. "
            "Nothing was corrected. Choose one of these.",
            field="size_label",
        )
    if len(colour) > 40:
        raise CannotCorrectPiece(
            f"Colour {colour!r} is longer than 40 characters. Shorten it.", field="colour"
        )
    if not reason:
        raise CannotCorrectPiece(
            "A correction needs a reason, such as 'typed 24 for 26'. Nothing was corrected.", field="reason"
        )
    if len(reason) > 200:
        raise CannotCorrectPiece(
            f"The reason has {len(reason)} characters; the place holds 200. Shorten it.", field="reason"
        )
    if not changed:
        raise CannotCorrectPiece(
            f"Piece {piece.label} has size {size_label} and colour {colour or 'none'} already. Change one of "
            "them, or leave it as it is."
        )


def _judge_again(piece: Piece, *, by: User, at: dt.datetime) -> PieceVerdict | None:
    """The sitting that counts, judged by the size the piece has now; None while it has no verdict."""
    before = PieceVerdict.objects.filter(piece=piece, is_current=True).select_related("inspection").first()
    if before is None:
        return None
    before.inspection.piece = piece
    return judge_inspection(inspection=before.inspection, by=by, at=at)
