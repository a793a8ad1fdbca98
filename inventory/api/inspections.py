"""Inspections: open a sitting for a piece, look at it, finish it with a verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from django.utils import timezone
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers

from inventory.api.frame.errors import Against
from inventory.api.frame.inputs import Input, OneOf, Text, Whole
from inventory.api.frame.resource import Resource, found, known
from inventory.api.frame.shapes import Shape
from inventory.api.pieces import found_piece
from inventory.api.reading_shapes import ReadingShape, SideIn
from inventory.api.verdicts import VerdictShape
from inventory.models import Inspection, Instrument
from inventory.models.inspections import PieceState, Side, Source
from inventory.models.shop import LengthUnit
from inventory.queries.pieces import current_verdict, sitting_by_id, sittings_of
from inventory.queries.plans import plans_of
from inventory.queries.verdicts import verdict_by_id
from inventory.services.inspections import (
    CannotSkip,
    PointNotInWalk,
    finish_inspection,
    note_unread_side,
    open_inspection,
)
from inventory.services.judging import NotYetMeasured

if TYPE_CHECKING:
    import datetime as dt
    from decimal import Decimal

    from rest_framework.request import Request
    from rest_framework.response import Response

    from inventory.models import Piece


class NewInspection(Input):
    """How the piece is measured. All of it can be left out: the unit is then that of the spec."""

    unit = OneOf(choices=LengthUnit.choices, required=False, help_text="Meant where a reading names none.")
    instrument = Text(max_length=20, required=False, help_text="The number on the tape.")
    piece_state = OneOf(choices=PieceState.choices, required=False)
    room_temperature_c = serializers.DecimalField(
        max_digits=4, decimal_places=1, required=False, allow_null=True
    )
    room_humidity_percent = Whole(min_value=0, max_value=100, required=False, allow_null=True)

    def validate_room_temperature_c(self, degrees: Decimal | None) -> Decimal | None:
        """A room somebody can work in."""
        if degrees is not None and not -40 <= degrees <= 60:
            raise serializers.ValidationError(
                f"{degrees} °C is no temperature of a room. Send it in degrees Celsius, from -40 to 60.",
                code="against",
            )
        return degrees


class UnreadShape(Shape):
    """A side that cannot be read."""

    inspection = serializers.IntegerField(source="inspection_id")
    code = serializers.CharField(source="point.code")
    side = serializers.ChoiceField(choices=Side.choices)
    reason = serializers.CharField()
    noted_by = serializers.CharField(source="noted_by.username")
    noted_at = serializers.DateTimeField()


class InspectionShape(Shape):
    """A sitting with every reading, those corrected since included."""

    id = serializers.IntegerField()
    piece = serializers.CharField(source="piece.label")
    piece_state = serializers.ChoiceField(choices=PieceState.choices)
    source = serializers.ChoiceField(choices=Source.choices)  # type: ignore[assignment]  # a name of ours
    unit = serializers.ChoiceField(choices=LengthUnit.choices)
    instrument = serializers.CharField(source="instrument.number", default=None, allow_null=True)
    opened_by = serializers.CharField(source="opened_by.username")
    opened_at = serializers.DateTimeField()
    finished_at = serializers.DateTimeField(allow_null=True, help_text="Null: still open.")
    blind = serializers.BooleanField(help_text="The nominal was to be hidden until each reading was in.")
    room_temperature_c = serializers.DecimalField(max_digits=4, decimal_places=1, allow_null=True)
    room_humidity_percent = serializers.IntegerField(allow_null=True)
    readings = ReadingShape(source="readings.all", many=True)
    unread_sides = UnreadShape(source="unread_sides.all", many=True)


class InspectionsOfPiece(Resource):
    @extend_schema(responses=InspectionShape(many=True))
    def get(self, request: Request, piece: int) -> Response:
        """All sittings of a piece."""
        return self.page(sittings_of(found_piece(piece)), InspectionShape)

    @extend_schema(
        request=NewInspection,
        responses={
            200: OpenApiResponse(InspectionShape, description="The sitting that was open already."),
            201: InspectionShape,
        },
    )
    def post(self, request: Request, piece: int) -> Response:
        """Open a sitting, or join the open one: people who measure a piece together share it."""
        sent, at = self.body(NewInspection), timezone.now()
        if "instrument" in sent:
            sent["instrument"] = known_instrument(sent["instrument"], on=timezone.localdate(at))
        opened = open_inspection(piece=found_piece(piece), source=Source.API, **sent, by=self.person, at=at)
        status = 201 if opened.opened_at == at else 200
        return self.shown(found_inspection(opened.pk), InspectionShape, status=status)


class OneInspection(Resource):
    @extend_schema(responses=InspectionShape)
    def get(self, request: Request, pk: int) -> Response:
        """One sitting with its readings."""
        return self.shown(found_inspection(pk), InspectionShape)


class FinishInspection(Resource):
    @extend_schema(request=None, responses={200: VerdictShape})
    def post(self, request: Request, pk: int) -> Response:
        """Close the sitting and judge the piece. Sent again, it shows the verdict that counts now."""
        sitting = found_inspection(pk)
        verdict = current_verdict(sitting.piece) if sitting.finished_at else None
        if verdict is None:
            try:
                verdict = finish_inspection(inspection=sitting, by=self.person, at=timezone.now())
            except NotYetMeasured as refused:
                raise NotYetMeasured(f"{refused}{_where_to_answer(sitting)}") from None
        return self.shown(verdict_by_id(verdict.pk), VerdictShape)


class NewUnreadSide(SideIn):
    """A half that cannot be read, and why; the full girth is then twice the other."""

    reason = Text(max_length=200)


class UnreadSides(Resource):
    points_at: ClassVar = {CannotSkip: "side"}

    @extend_schema(request=NewUnreadSide, responses={201: UnreadShape})
    def post(self, request: Request, piece: int) -> Response:
        """Note that one half of a pair cannot be read; the owner then finishes the sitting."""
        sent, there = self.body(NewUnreadSide), found_piece(piece)
        plans, code = plans_of(there.batch), sent.pop("code")
        plan = plans.for_size(there.size_label).get(code)
        if plan is None or sent["side"] not in plan.sides:
            raise no_such_point(there, code, sent["side"])
        point = plans.points[code]
        noted = note_unread_side(piece=there, point=point, **sent, by=self.person, at=timezone.now())
        return self.shown(noted, UnreadShape, status=201)


def found_inspection(pk: int) -> Inspection:
    """The sitting of this number with its readings, or a 404."""
    return found(sitting_by_id(pk), f"There is no inspection {pk}. Open one for a piece first.")


def no_such_point(piece: Piece, code: str, side: str) -> PointNotInWalk:
    """Which points and sides of the piece there are, for a program that asked for another."""
    plans = plans_of(piece.batch).for_size(piece.size_label)
    if code in plans:
        there = ", ".join(plans[code].sides)
        return PointNotInWalk(
            f"Point {code} of piece {piece.label} has no side {side}. Send one of: {there}.", field="side"
        )
    there = ", ".join(f"{known} ({', '.join(plan.sides)})" for known, plan in plans.items())
    return PointNotInWalk(
        f"Piece {piece.label} has no point {code!r}. Send one of these, with a side it has: {there}.",
        field="code",
    )


def _where_to_answer(sitting: Inspection) -> str:
    """The addresses at which the sitting's open questions are answered; its readings are loaded already."""
    open_still = [
        f"/api/v1/slip-questions/{question.pk}/answer/"
        for reading in sitting.readings.all()
        if not reading.corrections.all()
        for question in reading.slip_questions.all()
        if not question.answer
    ]
    return f" Answer at {', '.join(open_still)}." if open_still else ""


def known_instrument(number: str, *, on: dt.date) -> Instrument:
    """The tape or rule that a body names by the number on it, in use on the day of measuring."""
    there = known(
        Instrument.objects.filter(number__iexact=number).first(),
        "instrument",
        f"There is no tape or rule with the number {number!r}. Look at the number on it, or leave it out.",
    )
    if there.retired_on is not None and there.retired_on <= on:
        raise Against({"instrument": [f"{there} is out of use since {there.retired_on}. Take another."]})
    return there
