"""How long ago a delivery arrived, and which recorded days come next.

Days from a contract and the shop's own house rule, nothing more: whether a notice is timely is a question
of contract and law, and is never answered here. Working days are Monday to Friday without the closed days
the shop has written down.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils import timezone

from inventory.calc.working_days import working_days_after

if TYPE_CHECKING:
    from inventory.models import Delivery, Shop

SOON_DAYS = 3


@dataclass(frozen=True, slots=True)
class NoticeClock:
    """The days of one delivery as seen on `today`."""

    today: dt.date
    arrived_on: dt.date
    window_ends: dt.date | None
    house_notice_on: dt.date
    house_claim_on: dt.date

    @property
    def days_since(self) -> int:
        """Whole days since the arrival, by the local calendar."""
        return (self.today - self.arrived_on).days

    @property
    def window_days_left(self) -> int | None:
        """Days until the recorded window's last day; negative when it lies behind us, None without one."""
        return None if self.window_ends is None else (self.window_ends - self.today).days

    @property
    def window_is_over(self) -> bool:
        return self.window_days_left is not None and self.window_days_left < 0

    @property
    def window_is_near(self) -> bool:
        return self.window_days_left is not None and 0 <= self.window_days_left <= SOON_DAYS

    @property
    def house_notice_is_over(self) -> bool:
        return self.house_notice_on < self.today

    @property
    def house_claim_is_over(self) -> bool:
        return self.house_claim_on < self.today

    @property
    def next_day(self) -> dt.date | None:
        """The nearest of the recorded days that is not behind us."""
        days = (self.house_notice_on, self.house_claim_on, self.window_ends)
        return min((day for day in days if day is not None and day >= self.today), default=None)


def notice_clock(delivery: Delivery, *, today: dt.date, shop: Shop) -> NoticeClock:
    """The clock of a delivery; no query."""
    arrived_on = timezone.localdate(delivery.arrived_at)
    closed = shop.as_closed_days()
    return NoticeClock(
        today=today,
        arrived_on=arrived_on,
        window_ends=delivery.notice_window_ends,
        house_notice_on=working_days_after(arrived_on, shop.notice_days, closed=closed),
        house_claim_on=working_days_after(arrived_on, shop.full_claim_days, closed=closed),
    )
