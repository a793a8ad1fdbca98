"""Receiving a delivery and adding batches to it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest
from django.core.exceptions import ValidationError

from inventory.access import NotAllowed
from inventory.models import AuditRow, Batch, Delivery, Spec
from inventory.services.deliveries import (
    ArrivalImpossible,
    SpecCannotJudge,
    add_batch,
    receive_delivery,
)
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from pytest_django import Settings

pytestmark = pytest.mark.django_db


def _receive(**fields: object) -> Delivery:
    defaults: dict[str, object] = {
        "maker": factories.make_maker(),
        "arrived_at": NOW - dt.timedelta(hours=1),
        "order_reference": "PO-7",
        "by": factories.make_user(),
        "at": NOW,
    }
    return receive_delivery(**defaults | fields)  # type: ignore[arg-type]  # a test names only what it is about


def test_deliveries_are_numbered_one_after_the_other() -> None:
    assert [_receive().label, _receive().label] == ["D0001", "D0002"]


def test_a_delivery_takes_the_window_recorded_for_its_maker() -> None:
    assert _receive(maker=factories.make_maker(notice_window_days=9)).notice_window_days == 9


def test_a_window_given_for_the_delivery_goes_before_the_makers() -> None:
    delivery = _receive(maker=factories.make_maker(notice_window_days=9), notice_window_days=21)
    assert delivery.notice_window_days == 21


def test_a_later_change_of_the_makers_window_leaves_the_delivery_alone() -> None:
    maker = factories.make_maker(notice_window_days=9)
    delivery = _receive(maker=maker)
    maker.notice_window_days = 3
    maker.save()
    delivery.refresh_from_db()
    assert delivery.notice_window_days == 9


def test_the_window_ends_by_the_local_calendar(settings: Settings) -> None:
    settings.TIME_ZONE = "Pacific/Auckland"
    late = dt.datetime(2026, 3, 1, 20, 0, tzinfo=dt.UTC)  # already 2 March there
    delivery = _receive(arrived_at=late, notice_window_days=10)
    assert delivery.notice_window_ends == dt.date(2026, 3, 12)


def test_an_arrival_now_is_no_arrival_in_the_future() -> None:
    assert _receive(arrived_at=NOW).arrived_at == NOW


def test_an_arrival_in_the_future_is_refused_and_uses_up_no_number() -> None:
    with pytest.raises(ArrivalImpossible, match="3 March 2026 09:00 lies in the future"):
        _receive(arrived_at=NOW + dt.timedelta(days=1))
    assert not Delivery.objects.exists()
    assert _receive().number == 1


def test_an_arrival_in_a_year_before_any_record_is_refused() -> None:
    with pytest.raises(ArrivalImpossible, match="lies before 1990"):
        _receive(arrived_at=dt.datetime(202, 3, 2, tzinfo=dt.UTC))


def test_an_order_reference_is_needed() -> None:
    with pytest.raises(ValidationError) as caught:
        _receive(order_reference="  ")
    assert set(caught.value.message_dict) == {"order_reference"}


def test_a_window_of_no_sense_is_refused_by_name() -> None:
    with pytest.raises(ValidationError) as caught:
        _receive(notice_window_days=-4)
    assert set(caught.value.message_dict) == {"notice_window_days"}


def test_a_viewer_may_not_receive() -> None:
    with pytest.raises(NotAllowed, match="As viewer you may not receive deliveries"):
        _receive(by=factories.make_user("viewer"))


def test_receiving_leaves_an_audit_row() -> None:
    by = factories.make_user()
    delivery = _receive(by=by)
    row = AuditRow.objects.get(subject_type="delivery")
    assert (row.who, row.deed, row.subject_id, row.at) == (by, "receive delivery", delivery.pk, NOW)


def _add(**fields: object) -> Batch:
    if "style" not in fields:
        fields["style"] = factories.make_spec().style
    if "delivery" not in fields:
        fields["delivery"] = factories.make_delivery()
    return add_batch(**{"by": factories.make_user(), "at": NOW} | fields)  # type: ignore[arg-type]


def test_a_batch_is_judged_by_the_spec_in_force_unless_the_order_named_another() -> None:
    old = factories.make_spec(state=Spec.State.SUPERSEDED)
    new = factories.make_spec(old.style)
    assert _add(style=old.style).spec == new
    assert _add(style=old.style, spec=old).spec == old


def test_batches_are_numbered_through_all_deliveries() -> None:
    assert [_add().label, _add().label] == ["B0001", "B0002"]


def test_a_draft_cannot_judge_a_batch() -> None:
    draft = factories.make_spec(state=Spec.State.DRAFT)
    with pytest.raises(SpecCannotJudge, match="is a draft"):
        _add(style=draft.style, spec=draft)


def test_the_spec_of_another_style_cannot_judge_a_batch() -> None:
    other = factories.make_spec()
    with pytest.raises(SpecCannotJudge, match=f"{other.style.code} rev 1 is not of style"):
        _add(spec=other)
    assert not Batch.objects.exists()


def test_a_style_without_a_spec_in_force_takes_no_batch() -> None:
    with pytest.raises(SpecCannotJudge, match="no spec in force"):
        _add(style=factories.make_style())


def test_a_viewer_may_not_add_a_batch() -> None:
    with pytest.raises(NotAllowed):
        _add(by=factories.make_user("viewer"))


def test_adding_a_batch_leaves_an_audit_row() -> None:
    batch = _add()
    row = AuditRow.objects.get(subject_type="batch", subject_id=batch.pk)
    assert (row.deed, row.detail["delivery"]) == ("add batch", batch.delivery.label)
