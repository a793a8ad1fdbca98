"""The box on the first screen: labels, orders and invoices."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from tests import factories

if TYPE_CHECKING:
    from django.test import Client

pytestmark = pytest.mark.django_db


@pytest.fixture
def viewer(client: Client) -> Client:
    client.force_login(factories.make_user("viewer"))
    return client


def _found(client: Client, typed: str) -> str:
    answer = client.get(reverse("find"), {"q": typed})
    assert answer.status_code == 302
    return str(answer.headers["Location"])


@pytest.mark.parametrize("typed", ["PO-2211", "po-2211", "2211"])
def test_an_order_leads_to_its_delivery(viewer: Client, typed: str) -> None:
    delivery = factories.make_delivery(order_reference="PO-2211")
    factories.make_delivery(order_reference="PO-3")
    assert _found(viewer, typed) == reverse("delivery", args=[delivery.number])


def test_an_exact_order_comes_before_one_that_only_contains_it(viewer: Client) -> None:
    delivery = factories.make_delivery(order_reference="PO-22")
    factories.make_delivery(order_reference="PO-2211")
    assert _found(viewer, "PO-22") == reverse("delivery", args=[delivery.number])


def test_an_order_in_two_deliveries_leads_to_the_list_of_both(viewer: Client) -> None:
    for _ in range(2):
        factories.make_delivery(order_reference="PO-2211")
    assert _found(viewer, "PO-2211") == f"{reverse('deliveries')}?text=PO-2211"


def test_an_invoice_is_found_too(viewer: Client) -> None:
    delivery = factories.make_delivery(invoice_reference="INV 9/26")
    assert _found(viewer, "inv 9/26") == reverse("delivery", args=[delivery.number])


def test_what_a_piece_mentions_and_what_nobody_knows_lead_to_the_pieces(viewer: Client) -> None:
    factories.make_piece(colour="ivory")
    factories.make_delivery(order_reference="ivory-1")
    assert _found(viewer, "ivory") == f"{reverse('pieces')}?text=ivory"
    assert _found(viewer, "nobody") == f"{reverse('pieces')}?text=nobody"
