"""Level and state get into the plans by what the points state and what the spec has above and below."""

from __future__ import annotations

import pytest

from inventory.models import MeasurePoint, Spec
from inventory.queries.plans import plans_of, plans_of_spec
from inventory.queries.point_levels import Girth, fixed_u_nm, level_part, state_part
from tests.factories import MM, make_batch, make_spec


def girth(code: str, nominal_mm: int, **fields: object) -> Girth:
    return Girth(MeasurePoint(code=code, **{"kind": "half"} | fields), nominal_mm * MM)


WAIST = {"height_nm": 0, "height_u_nm": 3 * MM}


def test_the_steeper_of_the_girths_above_and_below_counts() -> None:
    here = girth("WA", 330, **WAIST)
    above, below = girth("UB", 405, height_nm=100 * MM), girth("HH", 450, height_nm=-100 * MM)
    part = level_part(here, [here, above, below])
    assert part is not None
    assert part.u_nm == pytest.approx(1.2 * 3 * MM)  # 120 mm of girth over 100 mm of height
    assert "UB and HH" in part.source


def test_the_nearest_on_each_side_is_asked_not_the_furthest() -> None:
    here = girth("WA", 330, **WAIST)
    part = level_part(here, [girth("A", 340, height_nm=20 * MM), girth("B", 930, height_nm=200 * MM)])
    assert part is not None
    assert part.u_nm == pytest.approx(0.5 * 3 * MM)


def test_a_full_girth_beside_a_half_is_halved() -> None:
    part = level_part(girth("WA", 330, **WAIST), [girth("HI", 900, kind="full", height_nm=-100 * MM)])
    assert part is not None
    assert part.u_nm == pytest.approx(1.2 * 3 * MM)


@pytest.mark.parametrize(
    ("here", "other"),
    [
        ({}, {"height_nm": 100 * MM}),
        ({"height_nm": 0}, {"height_nm": 100 * MM}),
        (WAIST, {}),
        (WAIST, {"height_nm": 0}),
        (WAIST, {"height_nm": 100 * MM, "kind": "length"}),
        (WAIST | {"kind": "length"}, {"height_nm": 100 * MM}),
    ],
    ids=["no height", "level not stated", "no neighbour", "same height", "no girth", "a length"],
)
def test_what_is_not_stated_adds_nothing(here: dict[str, object], other: dict[str, object]) -> None:
    point, beside = girth("WA", 330, **here), girth("UB", 405, **other)
    assert level_part(point, [beside]) is None
    assert fixed_u_nm(point, [beside]) == 0


def test_state_and_level_add_up_as_squares() -> None:
    here = girth("WA", 330, **WAIST, state_u_nm=4 * MM)
    assert state_part(here.point) is not None
    assert fixed_u_nm(here, [girth("UB", 430, height_nm=100 * MM)]) == pytest.approx(5 * MM)


@pytest.mark.django_db
def test_the_plans_carry_it_from_the_moment_it_is_stated() -> None:
    batch = make_batch()
    assert plans_of(batch).for_size("24")["WA"].error.fixed_sd_nm == 0
    waist = batch.style.points.get(code="WA")
    waist.state_u_nm = 2 * MM
    waist.save()
    batch.style.refresh_from_db()
    assert plans_of(batch).for_size("24")["WA"].error.fixed_sd_nm == 2 * MM
    assert plans_of(batch).for_size("24")["UB"].error.fixed_sd_nm == 0


@pytest.mark.django_db
def test_each_size_has_its_own_steepness() -> None:
    spec: Spec = make_spec()
    for code, height in (("UB", 100), ("WA", 0)):
        point = spec.style.points.get(code=code)
        point.height_nm, point.height_u_nm = height * MM, 3 * MM
        point.save()
    plans = plans_of_spec(spec)
    for size in plans.by_size:
        waist, bust = plans.by_size[size]["WA"], plans.by_size[size]["UB"]
        expected = abs(bust.nominal_nm - waist.nominal_nm) / (100 * MM) * 3 * MM
        assert waist.error.fixed_sd_nm == pytest.approx(expected, abs=1)
