import datetime as dt

import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.queries.makers import latest_deliveries_of, maker_by_code, maker_lines
from tests.factories import NOW, make_batch, make_delivery, make_maker

pytestmark = pytest.mark.django_db


def test_the_list_says_how_often_and_when_last(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    north = make_maker(name="North")
    make_maker(name="Gone", is_active=False)
    make_maker(name="Ashby")
    for days in (9, 2):
        make_delivery(maker=north, arrived_at=NOW - dt.timedelta(days=days))
    with django_assert_num_queries(1):
        lines = maker_lines()
    assert [(line.maker.name, line.deliveries) for line in lines] == [("Ashby", 0), ("North", 2)]
    assert lines[1].last_arrival == NOW - dt.timedelta(days=2)
    assert len(maker_lines(with_retired=True)) == 3


def test_a_maker_is_found_in_any_case() -> None:
    maker = make_maker(code="north")
    assert maker_by_code("North") == maker
    assert maker_by_code("south") is None


def test_the_latest_deliveries_come_first_with_their_batches() -> None:
    maker = make_maker()
    old = make_delivery(maker=maker, arrived_at=NOW - dt.timedelta(days=9))
    new = make_delivery(maker=maker, arrived_at=NOW)
    make_batch(delivery=old)
    make_batch(delivery=old)
    found = latest_deliveries_of(maker)
    assert list(found) == [new, old]
    assert found[1].batch_count == 2  # type: ignore[attr-defined]  # counted by the query
    assert list(latest_deliveries_of(maker, most=1)) == [new]
