"""A point's budget adds up to what judging reckons with, and says what it leaves out."""

from __future__ import annotations

import math

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.calc import uncertainty
from inventory.calc.errors import ImpossibleInput
from inventory.models import Instrument, MeasurePoint, Shop, Spec
from inventory.models.people import Role
from inventory.queries.own.budgets import PointBudget, budget_of
from inventory.queries.own.knowing import error_source, knowing_by_style
from inventory.queries.plans import plans_of_spec
from inventory.services.instruments import change_instrument
from inventory.services.point_errors import state_error
from tests.factories import MM, NOW, make_instrument, make_spec, make_style, make_user

pytestmark = pytest.mark.django_db


def stated() -> tuple[Spec, MeasurePoint]:
    """A spec whose waist says all it can of itself."""
    spec = make_spec()
    for code, height in (("UB", 100), ("WA", 0)):
        point = spec.style.points.get(code=code)
        point.height_nm, point.height_u_nm = height * MM, 3 * MM
        point.state_u_nm = MM
        point.save()
    return spec, again(spec, "WA")


def again(spec: Spec, code: str) -> MeasurePoint:
    return MeasurePoint.objects.select_related("style", "known_error__study").get(style=spec.style, code=code)


def a_tape(u_nm: int) -> Instrument:
    tape = make_instrument()
    return change_instrument(instrument=tape, stated_u_nm=u_nm, by=make_user(Role.OWNER), at=NOW)


def part(table: PointBudget, name: str) -> float:
    return next(line.part.u_nm for line in table.lines if line.part.name == name)


def test_without_a_tape_it_is_to_the_nanometre_what_judging_reckons_with() -> None:
    spec, point = stated()
    table = budget_of(point)
    error = plans_of_spec(spec).for_size(spec.base_size)["WA"].error
    by_code = {outcome.code: outcome.budget for outcome in table.outcomes}
    assert by_code["reading"].u_nm == pytest.approx(uncertainty.of_mean(error, readings=1), abs=2)
    assert by_code["mean"].u_nm == pytest.approx(uncertainty.of_mean(error, readings=2), abs=2)
    assert by_code["full"].u_nm == pytest.approx(
        uncertainty.of_full_from_halves(error, left_readings=1, right_readings=1), abs=3
    )
    assert by_code["difference"].u_nm == pytest.approx(
        uncertainty.of_difference(error, left_readings=1, right_readings=1), abs=2
    )


def test_every_part_that_is_known_has_a_line_and_nothing_is_left_out() -> None:
    _, point = stated()
    tape = a_tape(400_000)
    table = budget_of(point)
    assert [line.part.name for line in table.lines] == [
        "repeat",
        "division",
        "person",
        "tape",
        "level",
        "state",
    ]
    assert table.gaps == ()
    assert (table.tape, part(table, "tape")) == (tape, 400_000)
    shares = sum(line.percent for line in table.lines)
    assert shares == pytest.approx(100)
    squares = sum(line.by_outcome[0][1] ** 2 for line in table.lines)
    assert table.one_reading.u_nm == pytest.approx(math.sqrt(squares))


def test_the_division_is_shown_but_not_added_for_repeats_hold_it() -> None:
    _, point = stated()
    a_tape(400_000)
    line = next(line for line in budget_of(point).lines if line.part.name == "division")
    assert line.part.u_nm == pytest.approx(288_675, abs=1)
    assert {adds for _, adds in line.by_outcome} == {0}


def test_tape_level_and_state_fall_out_of_a_difference_and_count_twice_in_a_full_girth() -> None:
    _, point = stated()
    a_tape(400_000)
    for line in budget_of(point).lines:
        adds = {outcome.code: nm for outcome, nm in line.by_outcome}
        if line.part.name in ("tape", "level", "state"):
            assert adds["difference"] == 0
            assert adds["full"] == pytest.approx(2 * adds["reading"])
            assert adds["mean"] == adds["reading"]


def test_a_larger_size_has_its_own_level_part() -> None:
    spec, point = stated()
    sizes = budget_of(point).sizes
    cells = {size: plans_of_spec(spec).for_size(size) for size in sizes}
    for size in sizes:
        plans = cells[size]
        slope = abs(plans["UB"].nominal_nm - plans["WA"].nominal_nm) / (100 * MM)
        assert part(budget_of(point, size=size), "level") == pytest.approx(slope * 3 * MM)


def test_what_is_not_known_is_said_with_its_cure() -> None:
    point = again(make_spec(), "WA")
    gaps = budget_of(point).gaps
    assert [gap.split(":")[0] for gap in gaps] == ["Tape", "Level", "State of the cloth"]
    make_instrument()
    Shop.objects.update(instruments_version=99)
    assert "Lay it beside the steel rule" in budget_of(point).gaps[0]


def test_a_style_without_a_spec_still_has_its_own_parts() -> None:
    point = make_style().points.get(code="WA")
    table = budget_of(point)
    assert (table.spec, table.size, table.nominal_nm) == (None, "", None)
    assert part(table, "repeat") == point.same_person_sd_nm


def test_more_people_than_readings_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="people"):
        budget_of(again(make_spec(), "WA"), readings=1, people=2)


def test_a_stated_error_is_named_as_where_it_comes_from() -> None:
    spec = make_spec()
    assert error_source(None) == "planning value"
    state_error(
        point=again(spec, "WA"),
        repeat_sd_nm=MM,
        person_sd_nm=MM,
        fixed_sd_nm=MM,
        reason="seen elsewhere",
        by=make_user(Role.OWNER),
        at=NOW,
    )
    table = budget_of(again(spec, "WA"))
    assert part(table, "other") == MM
    assert [error_source(one) for one in table.history] == ["stated by the owner"]
    line = next(line for line in knowing_by_style() if line.style.pk == spec.style_id)
    points = spec.style.points.filter(is_active=True).count()
    assert (line.by_study, line.stated, line.planned) == (0, 1, points - 1)


def test_a_budget_takes_a_constant_number_of_statements() -> None:
    _, point = stated()
    a_tape(400_000)
    budget_of(point)
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as asked:
            budget_of(point)
        counts.append(len(asked))
        make_instrument()
        budget_of(point)  # what is known of the tapes is kept in memory
    assert counts[0] == counts[1] <= 7
