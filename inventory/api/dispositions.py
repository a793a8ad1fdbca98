"""Dispositions: what is decided for a piece, and what was decided before."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.frame.inputs import Day, Input, OneOf, Text
from inventory.api.frame.resource import Resource
from inventory.api.frame.shapes import Shape
from inventory.api.frame.words import StandingWords
from inventory.api.pieces import found_piece
from inventory.models.pieces import Standing
from inventory.queries.pieces import dispositions_of
from inventory.services.disposition_rules import DispositionRefused
from inventory.services.dispositions import decide_disposition

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response


class NewDisposition(Input):
    """A decision, and what has to be said with it: a reason, who agreed, an end, the size it really is."""

    decision = OneOf(choices=Standing.choices)
    reason = Text(max_length=300, required=False, allow_blank=True)
    agreed_with = Text(max_length=120, required=False, allow_blank=True)
    ends_on = Day(required=False, allow_null=True, help_text="A concession ends; it never becomes the spec.")
    new_size_label = Text(max_length=12, required=False, allow_blank=True)


class DispositionShape(Shape):
    """What was decided for a piece, by whom and when."""

    id = serializers.IntegerField()
    piece = serializers.CharField(source="piece.label")
    decision = serializers.ChoiceField(choices=Standing.choices)
    decision_words = StandingWords("decision")
    reason = serializers.CharField()
    agreed_with = serializers.CharField()
    ends_on = serializers.DateField(allow_null=True)
    new_size_label = serializers.CharField()
    decided_by = serializers.CharField(source="decided_by.username")
    decided_at = serializers.DateTimeField()


class DispositionsOfPiece(Resource):
    points_at: ClassVar = {DispositionRefused: "decision"}

    @extend_schema(responses=DispositionShape(many=True))
    def get(self, request: Request, piece: int) -> Response:
        """Every decision for a piece, the first one first."""
        return self.page(dispositions_of(found_piece(piece)), DispositionShape)

    @extend_schema(request=NewDisposition, responses={201: DispositionShape})
    def post(self, request: Request, piece: int) -> Response:
        """Decide what is done with a piece, and move it there."""
        sent = self.body(NewDisposition)
        made = decide_disposition(piece=found_piece(piece), **sent, by=self.person, at=timezone.now())
        return self.shown(made, DispositionShape, status=201)
