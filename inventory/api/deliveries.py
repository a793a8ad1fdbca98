"""Deliveries: what arrived, from whom and when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers

from inventory.api.counts import CountsField
from inventory.api.frame.inputs import Code, Filters, Input, Moment, Text, Whole
from inventory.api.frame.resource import Resource, found, known
from inventory.api.frame.shapes import Shape
from inventory.api.makers import found_maker
from inventory.models import Delivery, Maker, Shop
from inventory.queries import deliveries as ask
from inventory.queries.makers import maker_by_code
from inventory.services.deliveries import receive_delivery

if TYPE_CHECKING:
    from rest_framework.request import Request
    from rest_framework.response import Response

MOST_SMALL = 32_767


class NewDelivery(Input):
    """An arrival. Without `notice_window_days` that of the maker is copied."""

    maker = Code("maker", most=12)
    arrived_at = Moment()
    order_reference = Text(max_length=60)
    invoice_reference = Text(max_length=60, required=False, allow_blank=True)
    notice_window_days = Whole(required=False, allow_null=True, min_value=0, max_value=MOST_SMALL)
    cartons = Whole(required=False, allow_null=True, min_value=0, max_value=MOST_SMALL)
    carton_note = Text(max_length=4000, required=False, allow_blank=True)


class DeliveryShape(Shape):
    """One parcel or consignment; the clock for notice to the maker starts at `arrived_at`."""

    label = serializers.CharField(source="delivery.label")  # type: ignore[assignment]  # a name of ours
    maker = serializers.CharField(source="delivery.maker.code")
    arrived_at = serializers.DateTimeField(source="delivery.arrived_at")
    order_reference = serializers.CharField(source="delivery.order_reference")
    invoice_reference = serializers.CharField(source="delivery.invoice_reference")
    notice_window_days = serializers.IntegerField(source="delivery.notice_window_days", allow_null=True)
    notice_window_ends = serializers.DateField(source="delivery.notice_window_ends", allow_null=True)
    cartons = serializers.IntegerField(source="delivery.cartons", allow_null=True)
    carton_note = serializers.CharField(source="delivery.carton_note")
    received_by = serializers.CharField(source="delivery.received_by.username")
    created_at = serializers.DateTimeField(source="delivery.created_at")
    batches = serializers.IntegerField(help_text="How many; list them by /batches/?delivery=….")
    counts = CountsField()


class DeliveryFilters(Filters):
    maker = Code("maker", most=12, required=False)
    text = serializers.CharField(required=False, max_length=60, help_text="In label and references.")
    undecided = serializers.BooleanField(
        default=False, help_text="Only with a piece on hold, or in which nothing is numbered yet."
    )


class Deliveries(Resource):
    @extend_schema(parameters=[DeliveryFilters], responses=DeliveryShape(many=True))
    def get(self, request: Request) -> Response:
        """Deliveries in the order in which they were entered."""
        wanted = self.wanted(DeliveryFilters)
        listed = ask.deliveries_matching(
            text=wanted.get("text", ""), maker_id=maker_asked_for(wanted), undecided=wanted["undecided"]
        )
        return self.page(listed, DeliveryShape, with_more=_rows)

    @extend_schema(request=NewDelivery, responses={201: DeliveryShape})
    def post(self, request: Request) -> Response:
        """Log an arrival under the next delivery number."""
        sent = self.body(NewDelivery)
        sent["maker"] = known_maker(sent["maker"])
        delivery = receive_delivery(**sent, by=self.person, at=timezone.now())
        return self.shown(_rows([delivery])[0], DeliveryShape, status=201)


class OneDelivery(Resource):
    @extend_schema(responses=DeliveryShape)
    def get(self, request: Request, delivery: int) -> Response:
        """One delivery by its label."""
        return self.shown(_rows([found_delivery(delivery)])[0], DeliveryShape)


def found_delivery(number: int) -> Delivery:
    """The delivery of this number, or a 404."""
    return found(
        ask.delivery_by_number(number),
        f"There is no delivery D{number:04d}. Look at the number again, such as D0007.",
    )


def known_maker(code: str) -> Maker:
    """The maker that a body names by its code."""
    return known(
        maker_by_code(code), "maker", f"There is no maker with the code {code!r}. All are at /api/v1/makers/."
    )


def maker_asked_for(wanted: dict[str, str]) -> int | None:
    """The key of the maker a list is narrowed to; an unknown code is a 404, not answered by nothing."""
    return found_maker(wanted["maker"]).pk if "maker" in wanted else None


def _rows(deliveries: list[Delivery]) -> list[ask.DeliveryRow]:
    return ask.rows_of(deliveries, today=timezone.localdate(), shop=Shop.objects.current())
