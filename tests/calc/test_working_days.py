"""Working days: weekends and closed days are left out; what is written wrongly is said line by line."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.working_days import (
    ClosedDayNotUnderstood,
    closed_days,
    parse_closed_days,
    working_days_after,
)

MONDAY = dt.date(2026, 3, 2)
DAYS = st.dates(dt.date(2020, 1, 1), dt.date(2040, 12, 31))


@pytest.mark.parametrize(
    ("day", "count", "expected"),
    [
        (dt.date(2026, 3, 6), 1, dt.date(2026, 3, 9)),  # Friday to Monday
        (dt.date(2026, 3, 7), 1, dt.date(2026, 3, 9)),  # Saturday to Monday
        (MONDAY, 5, dt.date(2026, 3, 9)),
        (MONDAY, 0, MONDAY),
    ],
)
def test_weekends_are_no_working_days(day: dt.date, count: int, expected: dt.date) -> None:
    assert working_days_after(day, count) == expected


def test_a_closed_day_moves_the_end_by_one_working_day() -> None:
    assert working_days_after(MONDAY, 3, closed={dt.date(2026, 3, 4)}) == dt.date(2026, 3, 6)


def test_a_closed_saturday_moves_nothing() -> None:
    assert working_days_after(MONDAY, 5, closed={dt.date(2026, 3, 7)}) == working_days_after(MONDAY, 5)


def test_a_shutdown_is_stepped_over_as_a_whole() -> None:
    closed = closed_days("2026-03-03 to 2026-03-13 stocktaking")
    assert working_days_after(MONDAY, 1, closed=closed) == dt.date(2026, 3, 16)


@given(day=DAYS, count=st.integers(1, 40), closed=st.frozensets(DAYS, max_size=20))
def test_the_end_is_a_working_day_and_so_many_lie_between(
    day: dt.date, count: int, closed: frozenset[dt.date]
) -> None:
    end = working_days_after(day, count, closed=closed)
    after = [day + dt.timedelta(days=number) for number in range(1, (end - day).days + 1)]
    worked = [one for one in after if one.weekday() < 5 and one not in closed]
    assert (len(worked), worked[-1]) == (count, end)


@given(day=DAYS, count=st.integers(0, 40), closed=st.frozensets(DAYS, max_size=20))
def test_closing_more_never_brings_the_end_nearer(
    day: dt.date, count: int, closed: frozenset[dt.date]
) -> None:
    assert working_days_after(day, count, closed=closed) >= working_days_after(day, count)


def test_lines_are_put_in_the_order_of_the_calendar_and_doubles_dropped() -> None:
    text = "2026-12-25  a  holiday\n\n 2026-08-03 to 2026-08-04\n2026-12-25 a holiday\n"
    assert [str(stretch) for stretch in parse_closed_days(text)] == [
        "2026-08-03 to 2026-08-04",
        "2026-12-25 a holiday",
    ]


@given(st.lists(st.tuples(DAYS, st.integers(0, 59), st.sampled_from(["", "a holiday", "to be seen"]))))
def test_what_is_shown_is_read_back_the_same(lines: list[tuple[dt.date, int, str]]) -> None:
    text = "\n".join(f"{first} to {first + dt.timedelta(days=more)} {words}" for first, more, words in lines)
    read = parse_closed_days(text)
    assert parse_closed_days("\n".join(str(stretch) for stretch in read)) == read


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("25.12.2026", '"25.12.2026" is no closed day. Write "2026-12-25"'),
        ("2026-02-30", "names 2026-02-30, a day that is not in the calendar"),
        ("2026-12-25 to", None),  # "to" is a word like any other
        ("2026-12-26 to 2026-12-25", "ends before it begins"),
        ("2026-08-03 to 2027-08-14", "closes 377 days. Check the year"),
        ("\n".join(["2026-01-01"] * 201), "There are 201 lines of closed days. Give at most 200"),
    ],
)
def test_a_line_that_says_no_day_is_refused_with_the_cure(line: str, said: str | None) -> None:
    if said is None:
        assert parse_closed_days(line)[0].words == "to"
        return
    with pytest.raises(ClosedDayNotUnderstood, match=said):
        parse_closed_days(line)
