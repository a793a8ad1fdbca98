"""Whose fault it is that a batch lies off: the known causes, ranked, with what they rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers

from inventory.api.batches import found_batch
from inventory.api.frame.resource import Resource
from inventory.api.frame.shapes import LengthField, Shape, UncertaintyField
from inventory.calc.causes import WORDS, Answer, Cause, Effect, EffectUnit, Next, Witness
from inventory.calc.length import Display, Unit
from inventory.queries.causes import wording
from inventory.queries.causes.answer import WhoseFault, whose_fault

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response

CAUSES = [(cause.value, WORDS[cause].name) for cause in Cause]
CONCLUSIONS = [
    (Answer.CAUSE.value, "a cause may be named"),
    (Answer.NOTHING.value, "nothing in particular"),
    (Answer.CANNOT_TELL.value, "the readings do not tell"),
]
WHOSE = [(code.value, words) for code, words in wording.WHOSE_WORDS.items()]
_CHANCE = "From 0 to 1."


class WhereShape(Shape):
    """Where a cause sits; an empty field means it does not matter, or is all of them."""

    pieces = serializers.ListField(child=serializers.CharField())
    side = serializers.CharField()
    codes = serializers.ListField(child=serializers.CharField())
    person = serializers.CharField()
    tape = serializers.CharField()
    size = serializers.CharField(help_text="The size it is about, such as the one that fits.")


class EffectShape(Shape):
    """How large a cause is at one place: lengths in nanometres, shares as parts of one."""

    where = WhereShape()
    value = serializers.FloatField()
    uncertainty = serializers.FloatField(source="u", help_text="Standard uncertainty of the value.")
    unit = serializers.ChoiceField(choices=list(EffectUnit))
    shown = serializers.SerializerMethodField(
        help_text="In words, as the shop shows lengths; ± is twice the standard uncertainty."
    )

    def get_shown(self, effect: Effect) -> str:
        return wording.effect_in_words(effect, self.context.get("display") or Display(Unit.MM))


class MeanShape(Shape):
    """A mean deviation that does not fit what a cause expects."""

    name = serializers.CharField(help_text="A point, or who was measured elsewhere.")
    seen = LengthField(source="seen_nm", signed=True)
    expected = LengthField(source="expected_nm", signed=True)


class SuspectShape(Shape):
    """One cause: how likely, how large, how much of the deviations goes away with it."""

    cause = serializers.ChoiceField(choices=CAUSES)
    name = serializers.CharField(source="words.name")
    whose = serializers.ChoiceField(choices=WHOSE, source="words.whose")
    probability = serializers.FloatField(help_text=_CHANCE)
    effects = EffectShape(many=True)
    explained = serializers.FloatField(
        allow_null=True, help_text="Share of the deviations' squares; none for a cause of spread."
    )
    direction = serializers.CharField(help_text="What the sign of the effect means.")
    against = MeanShape(many=True)
    confirm = serializers.CharField(source="words.confirm", help_text="How to confirm it.")


class WitnessShape(Shape):
    """How far readings off this batch moved in the same days."""

    witness = serializers.ChoiceField(choices=list(Witness))
    name = serializers.CharField()
    shift = LengthField(source="shift_nm", signed=True)
    uncertainty = UncertaintyField(source="u_nm", help_text="Standard uncertainty: all that is ordinary.")


class SettlingShape(Shape):
    """The reading that would tell the two likeliest apart."""

    reading = serializers.ChoiceField(choices=list(Next))
    sentence = serializers.CharField()


class CausesShape(Shape):
    """What may be said of a batch. `conclusion` is empty while too little is read to ask."""

    conclusion = serializers.SerializerMethodField()
    sentence = serializers.SerializerMethodField(help_text="The conclusion in words.")
    nothing = serializers.FloatField(
        source="ranking.nothing", default=None, allow_null=True, help_text="Of nothing in particular, 0 to 1."
    )
    ours = serializers.FloatField(help_text="Of all causes on our side of the bench together, 0 to 1.")
    suspects = SuspectShape(many=True, help_text="From the likeliest down; those under 0.01 left out.")
    settling = SettlingShape(source="ranking.settling", default=None, allow_null=True)
    not_looked_for = serializers.ListField(
        child=serializers.ChoiceField(choices=CAUSES),
        source="ranking.not_looked_for",
        default=[],
        help_text="Causes about which too little is known.",
    )
    elsewhere = WitnessShape(source="evidence.elsewhere", many=True, default=[])
    pieces = serializers.SerializerMethodField(help_text="Pieces it rests on.")
    pieces_measured = serializers.IntegerField(source="read.measured")
    readings = serializers.SerializerMethodField(help_text="Readings it rests on.")

    @extend_schema_field(serializers.ChoiceField(choices=CONCLUSIONS, allow_blank=True))
    def get_conclusion(self, found: WhoseFault) -> str:
        return "" if found.ranking is None else found.ranking.answer.value

    def get_sentence(self, found: WhoseFault) -> str:
        return "" if found.ranking is None else wording.answer_in_words(found.ranking)

    def get_pieces(self, found: WhoseFault) -> int:
        return len(found.read.pieces)

    def get_readings(self, found: WhoseFault) -> int:
        return len(found.read.readings)


class CausesOfBatch(Resource):
    @extend_schema(responses=CausesShape)
    def get(self, request: Request, batch: int) -> Response:
        """Whose fault it is. The causes of a batch's deviations by how well each explains its readings."""
        return self.shown(whose_fault(found_batch(batch)), CausesShape)
