"""How readings and the questions about them are shown."""

from __future__ import annotations

from rest_framework import serializers

from inventory.api.frame.inputs import Input, OneOf, Text
from inventory.api.frame.shapes import LengthField, Shape
from inventory.models import SlipQuestion
from inventory.models.inspections import PieceState, Side
from inventory.models.shop import LengthUnit


class SideIn(Input):
    """A point of the piece's style, and which side of it."""

    code = Text(max_length=12, help_text="The point's code.")
    side = OneOf(choices=Side.choices, help_text="As worn; S for a single point.")


class QuestionShape(Shape):
    """What the slip guard asks about a reading; the figure itself is never altered."""

    id = serializers.IntegerField()
    reading = serializers.IntegerField(source="reading_id")
    kind = serializers.CharField()
    question = serializers.CharField()
    answer = serializers.ChoiceField(choices=SlipQuestion.Answer.choices, help_text="Empty: still open.")
    answered_by = serializers.CharField(source="answered_by.username", default=None, allow_null=True)
    answered_at = serializers.DateTimeField(allow_null=True)


class ReadingShape(Shape):
    """One figure, by one person, once: as typed and as exact length."""

    id = serializers.IntegerField()
    inspection = serializers.IntegerField(source="inspection_id")
    code = serializers.CharField(source="point.code")
    side = serializers.ChoiceField(choices=Side.choices)
    repeat = serializers.IntegerField(help_text="Which reading of this side it is.")
    typed = serializers.CharField()
    unit = serializers.ChoiceField(choices=LengthUnit.choices)
    length = LengthField(source="length_nm")
    instrument = serializers.CharField(source="instrument.number", default=None, allow_null=True)
    taken_by = serializers.CharField(source="taken_by.username")
    taken_at = serializers.DateTimeField(help_text="By the reader's clock.")
    recorded_at = serializers.DateTimeField()
    piece_state = serializers.ChoiceField(choices=PieceState.choices)
    client_key = serializers.UUIDField(allow_null=True)
    corrects = serializers.IntegerField(source="corrects_id", allow_null=True)
    reason = serializers.CharField()
    note = serializers.CharField()
    working = serializers.JSONField(
        allow_null=True, help_text="How the level was found or a slant taken out; lengths in nanometres."
    )
    questions = QuestionShape(source="slip_questions.all", many=True)
