"""Receive what arrives: the delivery whose arrival starts the notice clock, and the batches in it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Final

from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format

from inventory.access import Deed, require
from inventory.models import Batch, Delivery, Spec
from inventory.services.audit import leave_row
from inventory.services.numbers import next_numbers
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from inventory.models import Maker, Style, User

FIRST_DAY: Final = dt.date(1990, 1, 1)


class ArrivalImpossible(Refused):
    """The arrival lies in the future, or further back than any record here could."""


class SpecCannotJudge(Refused):
    """The named spec revision is a draft, or of another style; or the style has none in force."""


@transaction.atomic
def receive_delivery(
    *,
    maker: Maker,
    arrived_at: dt.datetime,
    order_reference: str,
    by: User,
    at: dt.datetime,
    invoice_reference: str = "",
    notice_window_days: int | None = None,
    cartons: int | None = None,
    carton_note: str = "",
) -> Delivery:
    """Log an arrival under the next delivery number.

    `notice_window_days` None copies what is recorded for the maker today; a later change of the maker's
    window does not touch this delivery. Raises `ArrivalImpossible`, or ValidationError by field.
    """
    require(by, Deed.RECEIVE)
    _check_arrival(arrived_at, at=at)
    delivery = Delivery(
        maker=maker,
        arrived_at=arrived_at,
        order_reference=order_reference.strip(),
        invoice_reference=invoice_reference.strip(),
        notice_window_days=maker.notice_window_days if notice_window_days is None else notice_window_days,
        cartons=cartons,
        carton_note=carton_note.strip(),
        received_by=by,
        created_at=at,
    )
    delivery.clean_fields(exclude={"number", "maker", "received_by"})
    (delivery.number,) = next_numbers("last_delivery_number")
    delivery.save(force_insert=True)
    leave_row(
        who=by,
        deed="receive delivery",
        subject=delivery,
        at=at,
        maker=maker.code,
        arrived_at=arrived_at.isoformat(),
        notice_window_days=delivery.notice_window_days,
    )
    return delivery


@transaction.atomic
def add_batch(
    *,
    delivery: Delivery,
    style: Style,
    by: User,
    at: dt.datetime,
    spec: Spec | None = None,
    cutting_reference: str = "",
    pieces_announced: int | None = None,
    note: str = "",
) -> Batch:
    """Add the pieces of one style in a delivery as a batch, judged by the revision its order named.

    `spec` None takes the revision in force. Raises `SpecCannotJudge`, or ValidationError by field.
    """
    require(by, Deed.RECEIVE)
    spec = _in_force(style) if spec is None else spec
    _check_spec(spec, style)
    batch = Batch(
        delivery=delivery,
        style=style,
        spec=spec,
        cutting_reference=cutting_reference.strip(),
        pieces_announced=pieces_announced,
        note=note.strip(),
        created_at=at,
    )
    batch.clean_fields(exclude={"number", "delivery", "style", "spec"})
    (batch.number,) = next_numbers("last_batch_number")
    batch.save(force_insert=True)
    leave_row(who=by, deed="add batch", subject=batch, at=at, delivery=delivery.label, spec=str(spec))
    return batch


def _check_arrival(arrived_at: dt.datetime, *, at: dt.datetime) -> None:
    arrived = date_format(timezone.localtime(arrived_at), "j F Y H:i")
    if arrived_at > at:
        now = date_format(timezone.localtime(at), "j F Y H:i")
        raise ArrivalImpossible(
            f"The arrival {arrived} lies in the future; it is {now} here. Type the day and time it arrived.",
            field="arrived_at",
        )
    if timezone.localdate(arrived_at) < FIRST_DAY:
        raise ArrivalImpossible(
            f"The arrival {arrived} lies before {FIRST_DAY.year}. Check the year.", field="arrived_at"
        )


def _in_force(style: Style) -> Spec:
    spec = style.specs.filter(state=Spec.State.IN_FORCE).first()
    if spec is None:
        raise SpecCannotJudge(
            f"Style {style.code} has no spec in force, so nothing could judge its pieces. "
            "Put a revision in force first, or name an earlier one.",
            field="spec",
        )
    return spec


def _check_spec(spec: Spec, style: Style) -> None:
    if spec.style_id != style.pk:
        raise SpecCannotJudge(
            f"Spec {spec} is not of style {style.code}. Choose one of {style.code}, or the other style.",
            field="spec",
        )
    if spec.state == Spec.State.DRAFT:
        raise SpecCannotJudge(
            f"Spec {spec} is a draft and can still change. Put it in force, or name an earlier revision.",
            field="spec",
        )
