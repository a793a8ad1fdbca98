"""What the check garments say of our own measuring."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.calc.drift.individuals import Steadiness
from inventory.models import CheckGarment
from inventory.queries.own.check_garment import garment_rows, state_at, state_of
from tests.factories import (
    MM,
    NOW,
    make_check_garment,
    make_check_sitting,
    make_instrument,
    make_tape_check,
    make_user,
    read_check_garment,
)

pytestmark = pytest.mark.django_db

DAY = dt.timedelta(days=1)
STEADY = (355, 356, 355, 354, 355, 356, 355, 355, 355)


def read(waists: Sequence[float], *, lengths: float = 305, **more: object) -> CheckGarment:
    garment = make_check_garment()
    who = make_user()
    for number, waist in enumerate(waists):
        read_check_garment(garment, {"WA": waist, "CF": lengths}, at=NOW + number * DAY, by=who)
    return garment


def test_without_a_garment_in_use_nothing_is_said() -> None:
    assert state_at(NOW) is None
    make_check_garment(retired_on=NOW.date(), since=NOW.date() - DAY)
    assert state_at(NOW + DAY) is None


def test_too_few_sittings_say_nothing_yet() -> None:
    read(STEADY[:4])
    state = state_at(NOW + 30 * DAY)
    assert state is not None
    assert (state.verdict, state.has_moved) == (Steadiness.TOO_FEW, False)
    assert state.by_kind == {}


def test_figures_as_always_are_steady() -> None:
    read(STEADY)
    state = state_at(NOW + 30 * DAY)
    assert state is not None
    assert state.verdict is Steadiness.STEADY
    assert abs(state.by_point["WA"].nm) < MM


def test_one_point_that_moves_is_enough_and_says_by_how_much() -> None:
    garment = read((*STEADY, 368))
    before, after = state_at(NOW + 8.5 * DAY), state_at(NOW + 9.5 * DAY)
    assert before is not None
    assert after is not None
    assert (before.verdict, after.verdict) == (Steadiness.STEADY, Steadiness.MOVED)
    # The mean of the first eight is 355.125 mm.
    assert after.by_kind["half"].nm == pytest.approx(12.875 * MM)
    assert after.by_kind["half"].u_nm > 0
    assert abs(after.by_kind["length"].nm) < MM
    moved = state_of(garment, until=NOW + 30 * DAY).moved
    assert [(column.point.code, column.side) for column in moved] == [("WA", "L"), ("WA", "R")]
    assert moved[0].as_picture().spots[-1].signals


def test_a_sitting_that_is_not_finished_does_not_count() -> None:
    garment = read(STEADY)
    late = make_check_sitting(garment, opened_at=NOW + 20 * DAY)
    assert late.finished_at is None
    assert state_of(garment, until=NOW + 30 * DAY).sittings == len(STEADY)


def test_sittings_before_the_baseline_began_anew_do_not_count() -> None:
    garment = read((*STEADY, 368))
    garment.baseline_from = NOW + 8.5 * DAY
    garment.save()
    state = state_of(garment, until=NOW + 30 * DAY)
    assert (state.sittings, state.verdict) == (1, Steadiness.TOO_FEW)


def test_what_a_tape_check_found_is_taken_off_so_a_known_tape_moves_nothing() -> None:
    garment, tape, who = read(STEADY), make_instrument(), make_user()
    make_tape_check(tape, near_mm=-8, far_mm=-8, at=NOW)
    read_check_garment(garment, {"WA": 347, "CF": 297}, at=NOW + 20 * DAY, by=who, instrument=tape)
    assert state_of(garment, until=NOW + 30 * DAY).verdict is Steadiness.STEADY
    read_check_garment(garment, {"WA": 347, "CF": 297}, at=NOW + 21 * DAY, by=who)
    assert state_of(garment, until=NOW + 30 * DAY).verdict is Steadiness.MOVED


def test_the_list_says_which_garment_waits_for_today() -> None:
    garment = read(STEADY)
    last = (NOW + 8 * DAY).date()
    (row,) = garment_rows(today=last)
    assert (row.garment, row.sittings, row.is_due) == (garment, 9, False)
    assert garment_rows(today=last + DAY)[0].is_due


def test_the_state_costs_the_same_however_many_sittings_and_garments(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    for _ in range(3):
        read(STEADY)
    with django_assert_max_num_queries(3):
        state_at(NOW + 30 * DAY)
