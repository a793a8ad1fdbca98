"""Batches: the pieces of one style in one delivery, judged by the spec revision the order named."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.counts import CountsField
from inventory.api.deliveries import DeliveryFilters, found_delivery, maker_asked_for
from inventory.api.frame.inputs import Code, Input, LabelFilter, Text, Whole
from inventory.api.frame.resource import Resource, found, known
from inventory.api.frame.shapes import Shape
from inventory.api.styles import SpecLine, found_style
from inventory.converters import DeliveryConverter
from inventory.models import Batch, Spec, Style
from inventory.queries import batches as ask
from inventory.queries.specs import specs_of
from inventory.queries.styles import style_by_code
from inventory.services.deliveries import SpecCannotJudge, add_batch

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response


class NewBatch(Input):
    """The pieces of one style in a delivery. Without `revision` the spec in force judges them."""

    style = Code("style", most=24)  # type: ignore[assignment]  # a name of ours
    revision = Whole(required=False, allow_null=True, min_value=1, max_value=32_767)
    cutting_reference = Text(max_length=60, required=False, allow_blank=True)
    pieces_announced = Whole(required=False, allow_null=True, min_value=0, max_value=2_147_483_647)
    note = Text(max_length=4000, required=False, allow_blank=True)


class BatchShape(Shape):
    """A batch with the counts of its pieces."""

    label = serializers.CharField(source="batch.label")  # type: ignore[assignment]  # a name of ours
    delivery = serializers.CharField(source="batch.delivery.label")
    maker = serializers.CharField(source="batch.delivery.maker.code")
    style = serializers.CharField(source="batch.style.code")  # type: ignore[assignment]  # a name of ours
    spec = SpecLine(source="batch.spec")
    cutting_reference = serializers.CharField(source="batch.cutting_reference")
    pieces_announced = serializers.IntegerField(source="batch.pieces_announced", allow_null=True)
    note = serializers.CharField(source="batch.note")
    created_at = serializers.DateTimeField(source="batch.created_at")
    counts = CountsField()


class BatchFilters(DeliveryFilters):
    style = Code("style", most=24, required=False)  # type: ignore[assignment]  # a name of ours
    delivery = LabelFilter(DeliveryConverter)


class Batches(Resource):
    @extend_schema(parameters=[BatchFilters], responses=BatchShape(many=True))
    def get(self, request: Request) -> Response:
        """Batches in the order of their numbers."""
        wanted = self.wanted(BatchFilters)
        listed = ask.batches_matching(
            text=wanted.get("text", ""),
            maker_id=maker_asked_for(wanted),
            style_id=found_style(wanted["style"]).pk if "style" in wanted else None,
            delivery_id=_delivery_asked_for(wanted),
            undecided=wanted["undecided"],
        )
        return self.page(listed, BatchShape, with_more=ask.rows_of)


class BatchesOfDelivery(Resource):
    @extend_schema(request=NewBatch, responses={201: BatchShape})
    def post(self, request: Request, delivery: int) -> Response:
        """Add a batch to a delivery under the next batch number."""
        sent = self.body(NewBatch)
        style = known_style(sent.pop("style"))
        spec = _known_spec(style, sent.pop("revision", None))
        there = found_delivery(delivery)
        try:
            batch = add_batch(
                delivery=there, style=style, spec=spec, **sent, by=self.person, at=timezone.now()
            )
        except SpecCannotJudge as refused:
            refused.field = "style" if spec is None else "revision"
            raise
        return self.shown(ask.rows_of([batch])[0], BatchShape, status=201)


class OneBatch(Resource):
    @extend_schema(responses=BatchShape)
    def get(self, request: Request, batch: int) -> Response:
        """One batch by its label."""
        return self.shown(ask.rows_of([found_batch(batch)])[0], BatchShape)


def found_batch(number: int) -> Batch:
    """The batch of this number, or a 404."""
    return found(
        ask.batch_by_number(number),
        f"There is no batch B{number:04d}. Look at the number again, such as B0012.",
    )


def known_style(code: str) -> Style:
    """The style that a body names by its code."""
    return known(
        style_by_code(code), "style", f"There is no style with the code {code!r}. All are at /api/v1/styles/."
    )


def _known_spec(style: Style, revision: int | None) -> Spec | None:
    if revision is None:
        return None
    return known(
        specs_of(style.pk).filter(revision=revision).first(),
        "revision",
        f"Style {style.code} has no spec revision {revision}. Look at /api/v1/styles/{style.code}/ for those "
        "it has.",
    )


def _delivery_asked_for(wanted: dict[str, Any]) -> int | None:  # Any: values of every type
    if "delivery" not in wanted:
        return None
    return found_delivery(DeliveryConverter().to_python(wanted["delivery"])).pk
