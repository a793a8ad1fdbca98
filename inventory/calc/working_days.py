"""Working days: Monday to Friday, without the days a shop says it is closed.

Public holidays differ from place to place and year to year, so none are built in: the shop writes down its
closed days, one day or one stretch of days a line. Nothing here says what a law or a contract counts as a
working day.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from inventory.calc.errors import CalcError

MOST_LINES: Final = 200
LONGEST_DAYS: Final = 60
_LINE: Final = re.compile(
    r"(?P<first>\d{4}-\d{2}-\d{2})(?:\s+to\s+(?P<last>\d{4}-\d{2}-\d{2}))?(?:\s+(?P<words>\S.*))?"
)
_EXAMPLE: Final = '"2026-12-25", "2026-12-25 holiday" or "2026-08-03 to 2026-08-14 summer"'


class ClosedDayNotUnderstood(CalcError):
    """A line of closed days that was refused: the line, what is wrong with it, the cure."""


@dataclass(frozen=True, slots=True, order=True)
class ClosedStretch:
    """Days on which the shop is closed, first and last included, and what for."""

    first: dt.date
    last: dt.date
    words: str = ""

    def __str__(self) -> str:
        days = self.first.isoformat() if self.first == self.last else f"{self.first} to {self.last}"
        return f"{days} {self.words}".rstrip()

    @property
    def days(self) -> frozenset[dt.date]:
        count = (self.last - self.first).days + 1
        return frozenset(self.first + dt.timedelta(days=number) for number in range(count))


def parse_closed_days(text: str) -> tuple[ClosedStretch, ...]:
    """The stretches written in a text, one a line, in the order of the calendar; empty lines are skipped.

    Raises ClosedDayNotUnderstood, naming the line and what to write instead.

    >>> [str(stretch) for stretch in parse_closed_days("2026-12-25 holiday\\n2026-08-03 to 2026-08-14")]
    ['2026-08-03 to 2026-08-14', '2026-12-25 holiday']
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if len(lines) > MOST_LINES:
        raise ClosedDayNotUnderstood(
            f"There are {len(lines)} lines of closed days. Give at most {MOST_LINES}: leave out past years."
        )
    return tuple(sorted({_stretch(line) for line in lines}))


def closed_days(text: str) -> frozenset[dt.date]:
    """Every single day the text closes; see `parse_closed_days`."""
    return frozenset(day for stretch in parse_closed_days(text) for day in stretch.days)


def working_days_after(day: dt.date, count: int, *, closed: Collection[dt.date] = frozenset()) -> dt.date:
    """The day so many working days after a day, which itself does not count.

    >>> friday = dt.date(2026, 3, 6)
    >>> working_days_after(friday, 5).isoformat()
    '2026-03-13'
    >>> working_days_after(friday, 5, closed={dt.date(2026, 3, 9)}).isoformat()
    '2026-03-16'
    """
    while count > 0:
        day += dt.timedelta(days=1)
        if day.weekday() < 5 and day not in closed:
            count -= 1
    return day


def _stretch(line: str) -> ClosedStretch:
    found = _LINE.fullmatch(line)
    if found is None:
        raise ClosedDayNotUnderstood(f'"{line[:60]}" is no closed day. Write {_EXAMPLE}.')
    first = _date(found["first"], line)
    last = _date(found["last"], line) if found["last"] else first
    if last < first:
        raise ClosedDayNotUnderstood(f'"{line[:60]}" ends before it begins. Write the earlier day first.')
    if (last - first).days >= LONGEST_DAYS:
        raise ClosedDayNotUnderstood(
            f'"{line[:60]}" closes {(last - first).days + 1} days. '
            f"Check the year, or write stretches of at most {LONGEST_DAYS} days."
        )
    return ClosedStretch(first, last, " ".join((found["words"] or "").split())[:60])


def _date(written: str, line: str) -> dt.date:
    try:
        return dt.date.fromisoformat(written)
    except ValueError:
        raise ClosedDayNotUnderstood(
            f'"{line[:60]}" names {written}, a day that is not in the calendar. Write {_EXAMPLE}.'
        ) from None
