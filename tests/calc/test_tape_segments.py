"""What is known of a tape at each moment."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.tape_class import (
    CheckedLength,
    CheckVerdict,
    DatedCheck,
    Line,
    Promise,
    TapeCheck,
    TapeClass,
    evaluate,
    readings_in_doubt,
    segment_at,
    segments_of,
)
from tests.closeness import same_float

MM = 1_000_000
PROMISE = Promise(TapeClass.II)


def day(number: float) -> dt.datetime:
    return dt.datetime(2026, 3, 1, 8, tzinfo=dt.UTC) + dt.timedelta(days=number)


def checked(number: int, *, near: float = 0.0, far: float = 0.0) -> DatedCheck:
    """A check on that day: the tape reads too long by so many mm at 300 and at 800 mm."""
    check = TapeCheck(
        shorter=CheckedLength(300 * MM, (round((300 + near) * MM),)),
        longer=CheckedLength(800 * MM, (round((800 + far) * MM),)),
        division_nm=MM // 2,
    )
    found = evaluate(check, tape_class=TapeClass.UNCLASSED, allowed_nm=2 * MM)
    return DatedCheck(day(number), found, key=number)


def test_before_any_check_nothing_is_taken_off_and_the_class_says_how_sure_we_are() -> None:
    (only,) = segments_of([], promise=PROMISE)
    assert only.line == Line()
    # Class II, first metre: 0.3 + 0.2 = 0.5 mm (Directive 2014/32/EU, MI-008), over the root of three.
    assert same_float(only.u_nm(330 * MM), 0.5 * MM / math.sqrt(3))
    assert segments_of([], promise=Promise())[0].says_nothing


def test_the_newest_check_gives_the_error_from_its_own_moment_on() -> None:
    segments = segments_of([checked(5, near=0.5, far=0.5), checked(1)], promise=PROMISE)
    assert segment_at(segments, day(0)).check is None
    for moment, key in ((1, 1), (4.9, 1), (5, 5), (400, 5)):
        at = segment_at(segments, day(moment))
        assert at.check is not None
        assert at.check.key == key
    assert segment_at(segments, day(6)).line.corrected_nm(400 * MM) == 399_500_000


def test_readings_between_a_good_check_and_a_bad_one_lie_anywhere_between_the_two() -> None:
    segments = segments_of([checked(1), checked(9, near=-3, far=-8)], promise=PROMISE)
    doubted = segment_at(segments, day(5))
    # Half of the 1 % that the tape has stretched by the second check.
    assert doubted.line.corrected_nm(400 * MM) == 402 * MM
    known = checked(9, near=-3, far=-8).findings.correct(400 * MM).u_nm
    assert same_float(doubted.u_nm(400 * MM), math.hypot(2 * MM / math.sqrt(3), known))
    assert segment_at(segments, day(10)).line.corrected_nm(400 * MM) == 404 * MM


def test_a_check_that_cannot_tell_neither_ends_nor_begins_a_doubt() -> None:
    unsure = checked(4, near=1.8, far=1.8)
    assert unsure.findings.verdict is CheckVerdict.CANNOT_TELL
    segments = segments_of([checked(1), unsure, checked(9, near=-3, far=-8)], promise=PROMISE)
    assert segment_at(segments, day(5)).line == segment_at(segments, day(2)).line
    assert segments_of([unsure], promise=PROMISE)[0].found is None


@given(st.lists(st.sampled_from([0.0, 1.8, 5.0]), max_size=7), st.integers(-1, 8))
def test_a_stretch_is_in_doubt_where_the_list_of_doubts_says_so(errors: list[float], hour: int) -> None:
    checks = [checked(number, near=error, far=error) for number, error in enumerate(errors)]
    at = day(hour + 0.5)
    listed = any(
        (doubt.after is None or doubt.after < at) and at < doubt.up_to for doubt in readings_in_doubt(checks)
    )
    assert (segment_at(segments_of(checks, promise=PROMISE), at).found is not None) == listed


@given(st.floats(-5e6, 5e6), st.floats(-0.02, 0.02), st.integers(1, 3_000 * MM))
def test_arrays_and_single_readings_are_corrected_alike(start: float, stretch: float, nm: int) -> None:
    line = Line(start, stretch)
    assert line.corrected_many(np.array([nm]))[0] == line.corrected_nm(nm)


@pytest.mark.parametrize("stated", [0.0, 300_000.0])
def test_a_tape_without_a_class_is_as_good_as_the_shop_states(stated: float) -> None:
    assert Promise(stated_u_nm=stated).u_nm(330 * MM) == stated
