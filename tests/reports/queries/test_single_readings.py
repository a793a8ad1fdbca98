"""What a sheet says of repeats: each figure as typed, by whom, and none that was corrected."""

from __future__ import annotations

import pytest

from inventory.models import Inspection, Reading
from reports.queries.single_readings import as_typed, read_more_than_once
from tests.factories import MM, make_inspection, make_reading, make_user

pytestmark = pytest.mark.django_db


def readings_of(sitting: Inspection) -> list[Reading]:
    return list(sitting.readings.select_related("point", "taken_by").order_by("id"))


def test_a_side_read_twice_is_listed_with_each_figure_and_its_reader() -> None:
    sitting = make_inspection()
    other = make_user(username="bea")
    make_reading(sitting, "WA", "L", mm=355)
    make_reading(sitting, "WA", "L", mm=357, repeat=2, taken_by=other)
    make_reading(sitting, "WA", "R", mm=355)
    [side] = read_more_than_once(readings_of(sitting), unit="mm")
    assert (side.code, side.side, side.mean_nm) == ("WA", "L", 356 * MM)
    assert [(one.typed, one.who) for one in side.readings] == [
        ("355", sitting.opened_by.shown_name),
        ("357", other.shown_name),
    ]


def test_a_corrected_reading_is_no_part_of_the_mean() -> None:
    sitting = make_inspection()
    wrong = make_reading(sitting, "WA", "L", mm=380)
    make_reading(sitting, "WA", "L", mm=355, corrects=wrong, reason="tape started at 1 inch")
    assert read_more_than_once(readings_of(sitting), unit="mm") == []


def test_what_was_typed_stands_letter_for_letter_and_names_a_unit_that_does_not_go_without_saying() -> None:
    sitting = make_inspection(unit="in")
    with_sign = make_reading(sitting, typed='14 1/2"', unit="in")
    bare = make_reading(sitting, "WA", "R", typed="14 1/2", unit="in")
    assert as_typed(with_sign, unit="mm") == '14 1/2"'
    assert as_typed(bare, unit="in") == "14 1/2"
    assert as_typed(bare, unit="mm") == "14 1/2 in"
