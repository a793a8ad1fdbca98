"""The page that asks whose fault it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.test import Client

from inventory.models.people import Role
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import NOW
from tests.measured_batch import make_measured_batch

if TYPE_CHECKING:
    from pytest_django import DjangoAssertNumQueries

    from inventory.models import Batch

pytestmark = pytest.mark.django_db


@pytest.fixture
def viewer() -> Client:
    client = Client()
    client.force_login(factories.make_user(Role.VIEWER))
    return client


def _page(client: Client, batch: Batch) -> str:
    return client.get(f"/batches/{batch.label}/causes/").content.decode()


def _waist_off(place: int, code: str, side: str) -> float:
    return (place + len(code + side)) % 3 - 1 + 11 * (code == "WA")


def _a_little_off(place: int, code: str, side: str) -> float:
    return 5 * (code == "WA") + (side == "L")


def test_the_page_asks_first_whether_it_is_us(viewer: Client) -> None:
    batch = make_measured_batch(off_mm=_waist_off)
    make_measured_batch()
    page = _page(viewer, batch)
    us, causes = page.index("First: is it us?"), page.index("Causes, the likeliest first")
    assert us < page.index("in the same days") < causes
    assert "No check garment was measured" in page[us:causes]


def test_the_likeliest_cause_stands_first_with_its_size_and_how_to_confirm_it(viewer: Client) -> None:
    page = _page(viewer, make_measured_batch(off_mm=_waist_off))
    ranked = page[page.index("Causes, the likeliest first") :]
    assert ranked.index("waist tape set short or long") < ranked.index("How to confirm it")
    assert "Measure the waist tape inside, and the panels at the waist." in ranked
    assert "the waist tape is too long" in ranked
    assert "What would settle it" in page


def test_that_nobody_can_tell_is_said_plainly(viewer: Client) -> None:
    page = _page(viewer, make_measured_batch(pieces=1, off_mm=_a_little_off))
    assert "Cannot tell. The readings fit “" in page
    assert "do not blame anybody yet" in page


def test_pictures_have_their_figures_in_a_table(viewer: Client) -> None:
    page = _page(viewer, make_measured_batch(off_mm=_waist_off))
    for caption in ("by point and side", "by person", "of WA by size"):
        assert caption in page
    assert page.count('class="shifts"') == 1 + 3 + 1  # points; UB, WA, CF by size; two people, but no tape
    assert "tapes cannot be compared" in page
    assert "+11.0" in page


def test_a_batch_that_is_not_measured_says_what_to_do(viewer: Client) -> None:
    assert "Too little is read to ask why" in _page(viewer, factories.make_batch())


def test_lengths_are_said_in_the_shops_own_unit(viewer: Client) -> None:
    batch = make_measured_batch(off_mm=_waist_off)
    shop = factories.the_shop()
    shop.display_unit = "in"
    shop.save()
    page = _page(viewer, batch)
    assert " in ±" in page
    assert " mm" not in page


def test_names_are_shown_as_text(viewer: Client) -> None:
    odd = factories.make_user(username="odd")
    odd.first_name = "<b>Ann</b>"
    odd.save()
    page = _page(viewer, make_measured_batch(people=(odd, factories.make_user()), off_mm=_waist_off))
    assert "&lt;b&gt;Ann" in page
    assert "<b>Ann" not in page


def test_the_batch_page_leads_there_when_something_is_off(viewer: Client) -> None:
    batch = factories.make_batch()
    for off in (0, 20):
        sitting = factories.make_inspection(factories.make_piece(batch), finished_at=NOW)
        factories.measure_all(sitting, {("WA", "L"): off})
        judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
        page = viewer.get(f"/batches/{batch.label}/").content.decode()
        assert (f"/batches/{batch.label}/causes/" in page) is bool(off)


def test_the_statements_of_the_page_do_not_grow(
    viewer: Client, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for pieces in (3, 24):
        batch = make_measured_batch(pieces=pieces)
        with django_assert_max_num_queries(16):
            _page(viewer, batch)
