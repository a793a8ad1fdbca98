"""Which pieces the bench asks for: of a sampled batch those drawn, of a refused one all, of others all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db.models import Exists, OuterRef, Q

from inventory.models import BatchDecision, BatchSampling, DrawnPiece, Piece, PieceVerdict

if TYPE_CHECKING:
    from inventory.models import Batch

_REFUSED = BatchDecision.Outcome.REFUSED


def asked_for() -> Q:
    """Of pieces: the batch has no sample, or its sample refused it, or the piece was drawn and none decided.

    Of a double plan the second sample is asked for once the first is judged.
    """
    sample = BatchSampling.objects.filter(batch=OuterRef("batch"))
    refused = sample.filter(decision__outcome=_REFUSED)
    decided = sample.filter(decision__isnull=False)
    drawn = DrawnPiece.objects.filter(piece=OuterRef("pk"))
    first_open = DrawnPiece.objects.filter(
        ~Exists(PieceVerdict.objects.filter(piece=OuterRef("piece"), is_current=True)),
        sampling__batch=OuterRef("batch"),
        stage=1,
    )
    in_turn = Q(Exists(drawn.filter(stage=1))) | Q(Exists(drawn), ~Exists(first_open))
    return Q(~Exists(sample)) | Q(Exists(refused)) | (Q(~Exists(decided)) & in_turn)


def not_asked_for(batch: Batch) -> frozenset[int]:
    """Numbers of the pieces of a batch that its sample leaves out; one statement."""
    rows = Piece.objects.filter(~asked_for(), batch=batch)
    return frozenset(rows.values_list("number", flat=True))
