"""Receiving on the screen: a delivery, a batch, its pieces; what was typed stays when it is refused."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory.models import Batch, Delivery, Piece, Spec
from tests import factories

if TYPE_CHECKING:
    from django.test import Client

pytestmark = pytest.mark.django_db


@pytest.fixture
def inspector(client: Client) -> Client:
    client.force_login(factories.make_user("inspector"))
    return client


def _local(moment: dt.datetime) -> str:
    return timezone.localtime(moment).strftime("%Y-%m-%dT%H:%M")


def test_a_delivery_is_received_with_the_makers_window(inspector: Client) -> None:
    maker = factories.make_maker(notice_window_days=12)
    arrived = timezone.now().replace(second=0, microsecond=0) - dt.timedelta(hours=2)
    answer = inspector.post(
        reverse("delivery-new"),
        {"maker": maker.pk, "arrived_at": _local(arrived), "order_reference": "PO-9", "cartons": "2"},
    )
    delivery = Delivery.objects.get()
    assert answer.headers["Location"] == reverse("delivery", args=[delivery.number])
    assert (delivery.arrived_at, delivery.notice_window_days, delivery.cartons) == (arrived, 12, 2)


def test_an_arrival_in_the_future_is_refused_at_its_box_and_keeps_what_was_typed(inspector: Client) -> None:
    maker = factories.make_maker()
    later = timezone.now() + dt.timedelta(days=2)
    answer = inspector.post(
        reverse("delivery-new"),
        {"maker": maker.pk, "arrived_at": _local(later), "order_reference": "PO-kept"},
    )
    assert "lies in the future" in answer.context["form"].errors["arrived_at"][0]
    assert 'value="PO-kept"' in answer.content.decode()
    assert not Delivery.objects.exists()


def test_the_maker_on_whose_page_one_was_is_chosen_already(inspector: Client) -> None:
    maker = factories.make_maker(code="larkhill")
    answer = inspector.get(reverse("delivery-new"), {"maker": "larkhill"})
    assert f'<option value="{maker.pk}" selected>' in answer.content.decode()


def test_without_a_maker_the_screen_says_what_comes_first(inspector: Client) -> None:
    assert "No maker yet" in inspector.get(reverse("delivery-new")).content.decode()


def test_the_clock_says_days_and_never_that_there_is_time(inspector: Client) -> None:
    delivery = factories.make_delivery(
        arrived_at=timezone.now() - dt.timedelta(days=12), notice_window_days=14
    )
    for page in (reverse("deliveries"), reverse("delivery", args=[delivery.number]), reverse("home")):
        text = inspector.get(page).content.decode()
        assert "12 days" in text
        assert "not legal advice" in text
        assert "in time" not in text


def test_the_checklist_names_the_dangers(inspector: Client) -> None:
    delivery = factories.make_delivery()
    text = inspector.get(reverse("delivery", args=[delivery.number])).content.decode()
    for word in ("Sharp ends", "Never pins", "Sweep for metal", "Mould", "gloves", "Common practice"):
        assert word in text


def test_a_batch_is_added_and_its_numbering_comes_next(inspector: Client) -> None:
    delivery, spec = factories.make_delivery(), factories.make_spec()
    answer = inspector.post(
        reverse("batch-new", args=[delivery.number]), {"style": spec.style.pk, "pieces_announced": "30"}
    )
    batch = Batch.objects.get()
    assert answer.headers["Location"] == reverse("pieces-new", args=[batch.number])
    assert (batch.spec, batch.pieces_announced) == (spec, 30)


def test_a_spec_of_another_style_is_refused_at_its_box(inspector: Client) -> None:
    delivery, spec, other = factories.make_delivery(), factories.make_spec(), factories.make_spec()
    answer = inspector.post(
        reverse("batch-new", args=[delivery.number]), {"style": spec.style.pk, "spec": other.pk}
    )
    assert "is not of style" in answer.context["form"].errors["spec"][0]


def test_a_draft_is_not_offered(inspector: Client) -> None:
    spec = factories.make_spec()
    draft = factories.make_spec(spec.style, state=Spec.State.DRAFT)
    answer = inspector.get(reverse("batch-new", args=[factories.make_delivery().number]))
    offered = set(answer.context["form"].fields["spec"].queryset)
    assert (spec in offered, draft in offered) == (True, False)


def test_a_table_of_colours_and_sizes_numbers_the_pieces(inspector: Client) -> None:
    batch = factories.make_batch()
    answer = inspector.post(
        reverse("pieces-new", args=[batch.number]),
        {
            "rows": "2",
            "colour-0": "black",
            "carton-0": "C1",
            "count-0-0": "2",
            "count-0-2": "1",
            "count-1-1": "1",
        },
    )
    assert answer.headers["Location"] == reverse("batch", args=[batch.number])
    assert list(Piece.objects.values_list("size_label", "colour", "carton")) == [
        ("22", "black", "C1"),
        ("22", "black", "C1"),
        ("26", "black", "C1"),
        ("24", "", ""),
    ]


def test_one_more_row_numbers_nothing_and_keeps_what_was_typed(inspector: Client) -> None:
    batch = factories.make_batch()
    answer = inspector.post(
        reverse("pieces-new", args=[batch.number]),
        {"rows": "3", "count-0-0": "2", "colour-0": "ivory", "more": "1"},
    )
    assert answer.context["form"].rows == 4
    assert 'value="ivory"' in answer.content.decode()
    assert not Piece.objects.exists()


def test_an_empty_table_is_refused_with_a_word(inspector: Client) -> None:
    batch = factories.make_batch()
    answer = inspector.post(reverse("pieces-new", args=[batch.number]), {"rows": "3"})
    assert "No pieces to number" in answer.content.decode()


@pytest.mark.parametrize("rows", ["", "x", "-4", "99999999", "1000"])
def test_an_odd_number_of_rows_makes_no_endless_form(inspector: Client, rows: str) -> None:
    batch = factories.make_batch()
    answer = inspector.post(reverse("pieces-new", args=[batch.number]), {"rows": rows})
    assert 1 <= answer.context["form"].rows <= 40
