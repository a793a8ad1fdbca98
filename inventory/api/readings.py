"""Readings: stored exactly once however often they are sent; and answers to the slip guard."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, ClassVar

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers

from inventory.api.frame.errors import Against
from inventory.api.frame.inputs import LARGEST_ID, Input, Key, Moment, OneOf, Text, Whole
from inventory.api.frame.resource import Resource, found
from inventory.api.inspections import found_inspection, known_instrument, no_such_point
from inventory.api.reading_shapes import QuestionShape, ReadingShape, SideIn
from inventory.calc.errors import CalcError
from inventory.calc.length import Unit
from inventory.models import SlipQuestion
from inventory.models.shop import LengthUnit
from inventory.queries.slip_questions import slip_question_by_id
from inventory.services.inspections import (
    CannotCorrect,
    PointNotInWalk,
    TypedReading,
    answer_slip_question,
    take_reading,
)
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response

    from inventory.models import Inspection

HEADER = "Idempotency-Key"


class ClientKeyMissing(Refused):
    """Without a key a reading sent again after a lost answer would count as a repeat."""


class NewReading(SideIn):
    """One reading. A correction names the reading it corrects and a reason; the old one is kept."""

    typed = Text(max_length=40, allow_blank=True, help_text="As read off the tape: 343, 34.3 cm, 13 1/2 in.")
    unit = OneOf(choices=LengthUnit.choices, required=False, help_text="Meant where none is typed.")
    client_key = Key(
        required=False, help_text=f"The sender's own key of this reading; the header {HEADER} does as well."
    )
    taken_at = Moment(required=False, help_text="By the reader's clock; now unless said.")
    instrument = Text(max_length=20, required=False, help_text="The number on the tape.")
    corrects = Whole(required=False, min_value=1, max_value=LARGEST_ID)
    reason = Text(max_length=200, required=False, allow_blank=True)
    note = Text(max_length=200, required=False, allow_blank=True)


class Answer(Input):
    """Keep the figure as read, or say that it will be read again."""

    answer = OneOf(choices=[choice for choice in SlipQuestion.Answer.choices if choice[0]])


class ReadingsOfInspection(Resource):
    points_at: ClassVar = {CalcError: "typed"}

    @extend_schema(
        request=NewReading,
        parameters=[
            OpenApiParameter(
                HEADER, OpenApiTypes.UUID, OpenApiParameter.HEADER, description="As `client_key`."
            )
        ],
        responses={
            200: OpenApiResponse(ReadingShape, description="Stored before under the same key."),
            201: ReadingShape,
        },
    )
    def post(self, request: Request, pk: int) -> Response:
        """Store one reading. The same key again shows what was stored the first time."""
        sent, at = self.body(NewReading), timezone.now()
        sitting = found_inspection(pk)
        taken_on = timezone.localdate(sent.get("taken_at", at))
        tape = known_instrument(sent.pop("instrument"), on=taken_on).pk if "instrument" in sent else None
        reading = TypedReading(
            number=sitting.piece.number,
            sitting=sitting.pk,
            unit=Unit(sent.pop("unit")) if "unit" in sent else None,
            client_key=_key(request, sent.pop("client_key", None)),
            instrument=tape,
            piece_state=sitting.piece_state,
            **sent,
        )
        try:
            recorded = take_reading(reading, by=self.person, at=at)
        except PointNotInWalk:
            raise no_such_point(sitting.piece, sent["code"], sent["side"]) from None
        except CannotCorrect as refused:
            raise refused if refused.field else _not_to_be_corrected(sitting, sent["corrects"]) from None
        return self.shown(recorded.reading, ReadingShape, status=201 if recorded.created else 200)


class AnswerToSlipQuestion(Resource):
    @extend_schema(request=Answer, responses={200: QuestionShape})
    def post(self, request: Request, pk: int) -> Response:
        """Answer a question of the slip guard; the same answer again changes nothing."""
        sent = self.body(Answer)
        question = found(slip_question_by_id(pk), f"There is no slip question {pk}.")
        answered = answer_slip_question(question=question, **sent, by=self.person, at=timezone.now())
        return self.shown(answered, QuestionShape)


def _not_to_be_corrected(sitting: Inspection, reading: int) -> CannotCorrect:
    return CannotCorrect(
        f"Reading {reading} was corrected already, or belongs to another sitting. Look at "
        f"/api/v1/inspections/{sitting.pk}/ and correct the newest one of its side.",
        field="corrects",
    )


def _key(request: Request, in_body: uuid.UUID | None) -> uuid.UUID:
    """The key of the body or of the header; the header's may stand in quotation marks, as its draft says."""
    sent = request.headers.get(HEADER, "").strip().strip('"')
    in_header = _as_key(sent) if sent else None
    if in_header and in_body and in_header != in_body:
        raise Against(
            {"client_key": [f"The header {HEADER} says {in_header}, the body {in_body}. Send one of them."]}
        )
    key = in_body or in_header
    if key is None:
        raise ClientKeyMissing(
            "A reading needs a key of its own, so that it is stored once however often it is sent. Send a "
            f"new UUID as client_key or in the header {HEADER}.",
            field="client_key",
        )
    return key


def _as_key(sent: str) -> uuid.UUID:
    try:
        return uuid.UUID(sent)
    except ValueError:
        raise serializers.ValidationError(
            {"client_key": [f"The header {HEADER} says {sent[:60]!r}, which is no UUID. Send a new one."]}
        ) from None
