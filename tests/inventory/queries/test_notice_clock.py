"""The notice clock: days since the arrival, the recorded window, the house days."""

from __future__ import annotations

import datetime as dt

import pytest

from inventory.models.people import Role
from inventory.queries.notice_clock import NoticeClock, notice_clock
from inventory.services.shop import change_shop
from tests import factories

pytestmark = pytest.mark.django_db

ARRIVED = dt.datetime(2026, 3, 2, 9, 0, tzinfo=dt.UTC)  # a Monday


def _clock(today: dt.date, **fields: object) -> NoticeClock:
    delivery = factories.make_delivery(**{"arrived_at": ARRIVED, "notice_window_days": 14} | fields)
    return notice_clock(delivery, today=today, shop=factories.the_shop())


def test_days_are_counted_from_the_arrival() -> None:
    clock = _clock(dt.date(2026, 3, 9))
    assert (clock.days_since, clock.window_ends, clock.window_days_left) == (7, dt.date(2026, 3, 16), 7)


def test_the_last_day_of_the_window_is_not_yet_behind_us() -> None:
    last, after = _clock(dt.date(2026, 3, 16)), _clock(dt.date(2026, 3, 17))
    assert (last.window_is_over, last.window_is_near) == (False, True)
    assert (after.window_is_over, after.window_is_near) == (True, False)


def test_three_days_before_its_end_the_window_is_near() -> None:
    assert not _clock(dt.date(2026, 3, 12)).window_is_near
    assert _clock(dt.date(2026, 3, 13)).window_is_near


def test_without_a_recorded_window_there_is_no_end_to_speak_of() -> None:
    clock = _clock(dt.date(2027, 1, 1), notice_window_days=None)
    assert (clock.window_ends, clock.window_is_over, clock.window_is_near) == (None, False, False)


def test_the_house_days_are_working_days_of_the_shops_choice() -> None:
    clock = _clock(dt.date(2026, 3, 10))
    assert (clock.house_notice_on, clock.house_claim_on) == (dt.date(2026, 3, 9), dt.date(2026, 3, 16))
    assert (clock.house_notice_is_over, clock.house_claim_is_over) == (True, False)


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        (dt.date(2026, 3, 3), dt.date(2026, 3, 9)),
        (dt.date(2026, 3, 10), dt.date(2026, 3, 16)),
        (dt.date(2026, 4, 1), None),
    ],
)
def test_the_next_day_is_the_nearest_that_is_not_behind_us(today: dt.date, expected: dt.date | None) -> None:
    assert _clock(today).next_day == expected


def test_closed_days_move_the_house_days_and_not_the_agreed_window() -> None:
    change_shop(by=factories.make_user(Role.OWNER), at=ARRIVED, closed_days="2026-03-04 a local holiday")
    clock = _clock(dt.date(2026, 3, 10))
    assert (clock.house_notice_on, clock.house_claim_on) == (dt.date(2026, 3, 10), dt.date(2026, 3, 17))
    assert clock.window_ends == dt.date(2026, 3, 16)
