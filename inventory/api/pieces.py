"""Pieces: number the garments of a batch, find them again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers

from inventory.api.batches import found_batch
from inventory.api.counts import AGAIN_SAID, NOT_JUDGED
from inventory.api.deliveries import maker_asked_for
from inventory.api.frame.inputs import Code, Filters, Input, LabelFilter, OneOf, Text, Whole
from inventory.api.frame.resource import Resource, found
from inventory.api.frame.shapes import Shape
from inventory.api.frame.words import StandingWords, VerdictWords
from inventory.converters import BatchConverter
from inventory.models import Piece
from inventory.models.pieces import Standing
from inventory.models.verdicts import VerdictCode
from inventory.queries import pieces as ask
from inventory.queries.batches import AGAIN
from inventory.services.pieces import MOST_AT_ONCE, CannotNumber, PieceCount, number_pieces

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response


class CountOfSize(Input):
    """So many pieces of one size and colour, from one carton."""

    size_label = Text(max_length=12)
    count = Whole(min_value=1, max_value=MOST_AT_ONCE)
    colour = Text(max_length=40, required=False, allow_blank=True)
    carton = Text(max_length=20, required=False, allow_blank=True)


class NewPieces(Input):
    """What lies on the table, by size and colour."""

    counts = CountOfSize(many=True)


class Numbered(Shape):
    """The labels to print and sew on, in the order of the counts."""

    labels = serializers.ListField(child=serializers.CharField())


class VerdictOfPiece(Shape):
    """The current verdict in short."""

    shelf = serializers.ChoiceField(choices=VerdictCode.choices, help_text="What the shop accepts.")
    shelf_words = VerdictWords("shelf")
    claim = serializers.ChoiceField(choices=VerdictCode.choices, help_text="What it can prove.")
    claim_words = VerdictWords("claim")
    size_suspected = serializers.BooleanField(help_text="Out on the label, but another size fits.")
    fits_size = serializers.CharField(help_text="The size that fits best; empty: none.")


class PieceShape(Shape):
    """One physical garment."""

    label = serializers.CharField()  # type: ignore[assignment]  # a name of ours
    batch = serializers.CharField(source="batch.label")
    style = serializers.CharField(source="batch.style.code")  # type: ignore[assignment]  # a name of ours
    maker = serializers.CharField(source="batch.delivery.maker.code")
    size_label = serializers.CharField()
    colour = serializers.CharField()
    carton = serializers.CharField()
    maker_reference = serializers.CharField()
    standing = serializers.ChoiceField(choices=Standing.choices)
    standing_words = StandingWords("standing")
    to_measure_again = serializers.SerializerMethodField(
        help_text="Its label was changed since the verdict was given, and nothing else was decided."
    )
    verdict = serializers.SerializerMethodField(help_text="Null: not judged yet.")
    created_at = serializers.DateTimeField()

    @extend_schema_field(VerdictOfPiece(allow_null=True))
    def get_verdict(self, piece: Any) -> Any:  # Any: a piece with its annotations, then JSON
        """The verdict that counts now."""
        return VerdictOfPiece(piece).data if piece.shelf else None

    def get_to_measure_again(self, piece: Any) -> bool:  # Any: as above
        """Whether the verdict says nothing of it now."""
        return ask.waits_again(
            standing=piece.standing, size_label=piece.size_label, judged_size=piece.judged_size
        )


class PieceFilters(Filters):
    batch = LabelFilter(BatchConverter)
    maker = Code("maker", most=12, required=False)
    size_label = serializers.CharField(required=False, max_length=12)
    standing = OneOf(choices=Standing.choices, required=False)
    shelf = OneOf(
        choices=[*VerdictCode.choices, (NOT_JUDGED, "not judged yet"), (AGAIN, "to measure again")],
        required=False,
        help_text=f"By the current verdict of the shelf rule. {AGAIN_SAID}.",
    )
    text = serializers.CharField(
        required=False, max_length=60, help_text="In label, the maker's or old number, and colour."
    )


class Pieces(Resource):
    @extend_schema(parameters=[PieceFilters], responses=PieceShape(many=True))
    def get(self, request: Request) -> Response:
        """Pieces in the order of their numbers, with their current verdict."""
        wanted = self.wanted(PieceFilters)
        wanted["maker_id"] = maker_asked_for(wanted)
        wanted.pop("maker", None)
        if "batch" in wanted:
            wanted["batch"] = found_batch(BatchConverter().to_python(wanted["batch"]))
        return self.page(ask.pieces_matching(**wanted), PieceShape)


class PiecesOfBatch(Resource):
    points_at: ClassVar = {CannotNumber: "counts"}

    @extend_schema(request=NewPieces, responses={201: Numbered})
    def post(self, request: Request, batch: int) -> Response:
        """Number pieces; all start on hold. Sent twice, it numbers twice: each label is a garment."""
        counts = [PieceCount(**row) for row in self.body(NewPieces)["counts"]]
        there = found_batch(batch)
        try:
            made = number_pieces(batch=there, counts=counts, by=self.person, at=timezone.now())
        except CannotNumber as refused:
            if refused.row is not None:
                refused.field = f"counts/{refused.row}/size_label"
            raise
        return self.shown({"labels": [piece.label for piece in made]}, Numbered, status=201)


class OnePiece(Resource):
    @extend_schema(responses=PieceShape)
    def get(self, request: Request, piece: int) -> Response:
        """One piece by its label."""
        return self.shown(found(ask.piece_with_verdict(piece), no_piece(piece)), PieceShape)


def found_piece(number: int) -> Piece:
    """The piece of this number with its batch, style, spec and maker, or a 404."""
    return found(ask.piece_by_number(number), no_piece(number))


def no_piece(number: int) -> str:
    """What is said of a label that nothing carries."""
    return f"There is no piece P{number:06d}. Look at the tag again, such as P000123."
