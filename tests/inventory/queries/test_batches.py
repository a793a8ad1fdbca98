"""Lists of batches and deliveries, their counts, and what the first screen says."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest

from inventory.models import Batch, Inspection
from inventory.queries import batches, deliveries
from inventory.queries.home import home
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from pytest_django import DjangoAssertNumQueries

pytestmark = pytest.mark.django_db

TODAY = NOW.date()


def _batch_with(**shelves: int) -> Batch:
    """A batch with so many pieces of each verdict; `none` are not judged."""
    batch = factories.make_batch()
    for shelf, count in shelves.items():
        for _ in range(count):
            piece = factories.make_piece(batch)
            if shelf != "none":
                sitting = factories.make_inspection(piece, finished_at=NOW)
                factories.make_verdict(piece, shelf=shelf, inspection=sitting)
    return batch


def test_pieces_are_counted_by_verdict_and_standing() -> None:
    batch = _batch_with(**{"in": 2, "out": 1, "close": 1, "none": 3})
    piece = batch.pieces.filter(verdicts__shelf="in").first()
    assert piece is not None
    batch.pieces.filter(pk=piece.pk).update(standing="release")
    counts = batches.counts_of([batch.pk])[batch.pk]
    assert (counts.pieces, counts.judged, counts.to_judge, counts.on_hold) == (7, 4, 3, 6)
    assert (counts.shelf["in"], counts.shelf["close"], counts.shelf["out"]) == (2, 1, 1)
    assert counts.hold_by_shelf["in"] == 1


def test_a_superseded_verdict_is_not_counted() -> None:
    batch = _batch_with(out=1)
    piece = batch.pieces.get()
    factories.make_verdict(piece, shelf="in")
    assert batches.counts_of([batch.pk])[batch.pk].shelf == {"in": 1}


def test_a_batch_without_pieces_counts_none() -> None:
    batch = factories.make_batch()
    assert batches.counts_of([batch.pk])[batch.pk].pieces == 0


def test_batches_are_found_by_label_order_maker_and_style() -> None:
    delivery = factories.make_delivery(order_reference="PO-77")
    wanted, other = factories.make_batch(delivery=delivery), factories.make_batch()
    assert list(batches.batches_matching(text=wanted.label)) == [wanted]
    assert list(batches.batches_matching(text="po-77")) == [wanted]
    assert list(batches.batches_matching(maker_id=delivery.maker.pk)) == [wanted]
    assert list(batches.batches_matching(style_id=other.style.pk)) == [other]


def test_undecided_means_a_piece_on_hold_or_nothing_numbered() -> None:
    held, done, empty = _batch_with(none=1), _batch_with(none=1), factories.make_batch()
    done.pieces.update(standing="release")
    assert set(batches.batches_matching(undecided=True)) == {held, empty}
    assert set(deliveries.deliveries_matching(undecided=True)) == {held.delivery, empty.delivery}


def test_deliveries_are_found_by_label_order_and_invoice() -> None:
    wanted = factories.make_delivery(order_reference="PO-8", invoice_reference="INV-3")
    factories.make_delivery()
    for text in (wanted.label, "po-8", "inv-3"):
        assert list(deliveries.deliveries_matching(text=text)) == [wanted]


def test_a_delivery_counts_the_pieces_of_all_its_batches() -> None:
    first = _batch_with(**{"in": 1, "none": 1})
    second = factories.make_batch(delivery=first.delivery)
    factories.make_piece(second)
    (row,) = deliveries.rows_of([first.delivery], today=TODAY, shop=factories.the_shop())
    assert (row.batches, row.counts.pieces, row.counts.to_judge) == (2, 3, 2)


def test_lists_take_the_same_number_of_statements_whatever_their_length(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    shop = factories.the_shop()
    for _ in range(2):
        _batch_with(**{"in": 1, "none": 1})
        with django_assert_num_queries(2):
            batches.rows_of(batches.batches_matching())
        with django_assert_num_queries(3):
            deliveries.rows_of(deliveries.deliveries_matching(), today=TODAY, shop=shop)


def test_measuring_goes_on_where_nobody_has_begun() -> None:
    batch = _batch_with(none=2)
    first, second = batch.pieces.order_by("number")
    factories.make_inspection(first)
    (found,) = batches.batches_in_measuring()
    assert found.next_number == second.number


def test_home_names_what_waits() -> None:
    batch = _batch_with(**{"in": 1, "out": 2, "close": 1, "none": 1})
    factories.make_inspection(batch.pieces.last())
    found = home(today=TODAY, shop=factories.the_shop())
    assert dict(found.held) == {"in": 1, "out": 2, "close": 1, "none": 1}
    assert [row.batch for row in found.measuring] == [batch]
    assert [row.delivery for row in found.deliveries] == [batch.delivery]
    assert len(found.sittings) == Inspection.objects.filter(finished_at=None).count() == 1
    assert (found.first_steps, found.nothing_waits) == (None, False)


def test_home_lists_the_first_few_and_counts_the_rest() -> None:
    for day in range(8):
        batch = factories.make_batch(
            delivery=factories.make_delivery(arrived_at=NOW - dt.timedelta(days=day))
        )
        factories.make_piece(batch)
    found = home(today=TODAY, shop=factories.the_shop())
    assert (len(found.deliveries), found.deliveries_more) == (6, 2)
    assert found.deliveries[0].clock.days_since == 7  # the oldest first


def test_a_new_shop_is_told_its_first_steps() -> None:
    steps = home(today=TODAY, shop=factories.the_shop()).first_steps
    assert steps is not None
    assert (steps.maker, steps.spec, steps.instrument) == (False, False, False)
    factories.make_maker()
    steps = home(today=TODAY, shop=factories.the_shop()).first_steps
    assert steps is not None
    assert steps.maker


def test_home_takes_the_same_number_of_statements_whatever_waits(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    shop = factories.the_shop()
    for _ in range(2):
        batch = _batch_with(**{"in": 1, "none": 2})
        factories.make_inspection(batch.pieces.last())
        with django_assert_num_queries(10):
            home(today=TODAY, shop=shop)
