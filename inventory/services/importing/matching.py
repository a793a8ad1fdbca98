"""Pieces of a file that are numbered already: rows of a batch that waits to be measured.

A row belongs to a piece of the batch when its reference is that piece's label, or the maker's or old number
kept with it. The readings go to that piece; a piece is never counted twice, nor measured twice by a file.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from inventory.models import Inspection, Piece

if TYPE_CHECKING:
    from inventory.models import Batch
    from inventory.services.importing.lines import Lines
    from inventory.services.importing.pieces import Pieces

_LABEL: Final = re.compile(r"p0*([0-9]{1,18})", re.IGNORECASE)


def match_pieces(lines: Lines, pieces: Pieces) -> None:
    """Find the pieces that are there already; what does not fit is in the report."""
    batch = pieces.groups[0].batch if pieces.groups else None
    if batch is None or lines.cells("reference") is None:
        return
    known = _known(batch)
    measured = measured_in(batch)
    seen: dict[int, int] = {}
    for place, (row, reference) in enumerate(zip(pieces.row, pieces.reference, strict=True)):
        label = _LABEL.fullmatch(reference)
        found = _meant(known, reference, number=label[1] if label else None)
        fault = _fault(reference, found, batch, measured=measured, is_label=label is not None)
        if not fault and found:
            if found[0].pk in seen:
                fault = f"{found[0].label} is meant by row {seen[found[0].pk]} already. Take one of them out."
            elif pieces.size[place] and pieces.size[place] != found[0].size_label:
                fault = (
                    f"{found[0].label} is size {found[0].size_label} here and size {pieces.size[place]} in "
                    "the file. Correct one of them."
                )
        if fault:
            lines.report.error(row, lines.label("reference"), fault)
        elif found:
            seen[found[0].pk] = row
            pieces.existing[place] = found[0].pk
    if seen:
        lines.report.remarks.append(
            f"Pieces of {batch.label} that are numbered and wait to be measured: {len(seen)}. Their readings "
            "go to them; colour and carton stay as they are."
        )


def measured_in(batch: Batch) -> set[int]:
    """The pieces of a batch of which a sitting was opened."""
    return set(Inspection.objects.filter(piece__batch=batch).values_list("piece", flat=True))


def _meant(known: dict[str, list[Piece]], reference: str, *, number: str | None) -> list[Piece]:
    """The pieces a reference may mean: makers, too, number theirs P12; the whole label is ours alone."""
    labelled = known.get(number or "", [])
    if any(piece.label == reference.upper() for piece in labelled):
        return labelled
    found = [*labelled, *known.get(f" {reference.casefold()}", ())]
    return list({piece.pk: piece for piece in found}.values())


def _known(batch: Batch) -> dict[str, list[Piece]]:
    """The pieces by number, and by the maker's reference with a blank before it."""
    known: dict[str, list[Piece]] = {}
    for piece in Piece.objects.filter(batch=batch).order_by("number"):
        known.setdefault(str(piece.number), []).append(piece)
        if piece.maker_reference:
            known.setdefault(f" {piece.maker_reference.casefold()}", []).append(piece)
    return known


def _fault(reference: str, found: list[Piece], batch: Batch, *, measured: set[int], is_label: bool) -> str:
    if not found:
        return f"{reference!r} is no piece of {batch.label}. Correct the label." if is_label else ""
    if len(found) > 1:
        labels = ", ".join(piece.label for piece in found)
        return f"{reference!r} may be {labels}. Type the label of the one that is meant."
    if found[0].pk in measured:
        return (
            f"{reference!r} is {found[0].label} of {batch.label}, which was measured already. Take the row "
            "out; a piece is measured again at the bench."
        )
    return ""
