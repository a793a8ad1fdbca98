from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.models import MeasurePoint, Spec, SpecCell, SpecPoint
from inventory.models.rules import DecisionRule
from inventory.queries.spec_warnings import grouped_warnings_of, warnings_of
from inventory.queries.specs import sheet_of
from tests.factories import LACED, MM, PointRecipe, make_spec, the_shop

pytestmark = pytest.mark.django_db
WAIST = LACED[1]


def _messages(*points: PointRecipe, unit: str = "mm") -> list[str]:
    spec = make_spec(points=points, state=Spec.State.DRAFT, unit_of_record=unit)
    rule = the_shop().shelf_rule.as_rule()
    return [warning.message for warning in warnings_of(sheet_of(spec), rule=rule)]


def test_a_sound_spec_gives_no_warning() -> None:
    assert _messages(WAIST) == []


def test_a_tolerance_of_more_than_half_the_step_overlaps() -> None:
    messages = _messages(replace(WAIST, tolerance_mm=13))
    assert len(messages) == 2
    assert messages[0].startswith("WA: sizes 22 and 24 cross: 22 ends at 343 mm, 24 begins at 342 mm")


def test_limits_that_only_meet_are_warned_about_too() -> None:
    assert "meet" in _messages(replace(WAIST, step_mm=24, tolerance_mm=12))[0]


def test_a_full_tolerance_is_set_against_the_step_of_the_full_girth() -> None:
    assert _messages(replace(WAIST, tolerance_mm=13, basis="full")) == []
    assert len(_messages(replace(WAIST, tolerance_mm=26, basis="full"))) == 2


def test_a_tolerance_no_reading_can_settle_says_what_would() -> None:
    messages = _messages(replace(WAIST, tolerance_mm=2, asymmetry_mm=None))
    assert len(messages) == 1
    assert messages[0].startswith("WA: one reading cannot settle whether a side is in tolerance")


def test_a_point_for_information_gives_no_warning() -> None:
    assert _messages(replace(WAIST, tolerance_mm=2, informational=True)) == []


def test_figures_are_told_in_the_unit_of_record() -> None:
    assert " in, " in _messages(replace(WAIST, tolerance_mm=13), unit="in")[0]


def test_an_inch_spec_is_warned_of_in_the_fractions_of_its_sheet() -> None:
    spec = make_spec(points=(WAIST,), state=Spec.State.DRAFT, unit_of_record="in")
    inch = 25_400_000
    for place, cell in enumerate(SpecCell.objects.filter(spec_point__spec=spec).order_by("size__position")):
        nominal_nm = (13 + place) * inch + inch // 4
        SpecCell.objects.filter(pk=cell.pk).update(
            nominal_nm=nominal_nm, tolerance_minus_nm=inch // 2, tolerance_plus_nm=inch // 2
        )
    messages = [w.message for w in warnings_of(sheet_of(spec), rule=the_shop().shelf_rule.as_rule())]
    assert "22 ends at 13 3/4 in, 24 begins at 13 3/4 in" in messages[0]


def test_points_that_one_reading_seldom_settles_stand_together_after_the_rest() -> None:
    """±4 mm against 1.645 × 1.5 mm = 2.5 mm."""
    tight = tuple(replace(point, tolerance_mm=4, step_mm=25, asymmetry_mm=None) for point in LACED)
    crossing = replace(WAIST, code="HH", tolerance_mm=13)
    spec = make_spec(points=(*tight, crossing), state=Spec.State.DRAFT)
    *_, last = grouped_warnings_of(sheet_of(spec), rule=the_shop().shelf_rule.as_rule())
    assert last.first.message.startswith("UB: only within 1.5 mm of nominal is a side in tolerance")
    assert last.more_words == "2 more like this: WA, CF"


def test_the_overlaps_of_a_point_stand_together() -> None:
    spec = make_spec(
        points=(replace(WAIST, tolerance_mm=13),), sizes=("18", "20", "22", "24"), state=Spec.State.DRAFT
    )
    (group,) = grouped_warnings_of(sheet_of(spec), rule=the_shop().shelf_rule.as_rule())
    assert group.first.sizes == ("18", "20")
    assert group.more_words == "2 more of WA"
    assert [warning.sizes for warning in group.more] == [("20", "22"), ("22", "24")]


def test_a_draft_that_contradicts_its_points_is_said_and_breaks_nothing() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    MeasurePoint.objects.filter(style=spec.style, code="WA").update(sides="single")
    rule = the_shop().shelf_rule.as_rule()
    assert any(
        "set on a single point" in warning.message for warning in warnings_of(sheet_of(spec), rule=rule)
    )


def test_a_plain_rule_has_no_guard_band_to_warn_about() -> None:
    rule = DecisionRule(code="plain", purpose="shelf", multiplier=Decimal(0)).as_rule()
    spec = make_spec(points=(replace(WAIST, tolerance_mm=1, asymmetry_mm=None),), state=Spec.State.DRAFT)
    SpecPoint.objects.update(asymmetry_limit_nm=MM)
    assert warnings_of(sheet_of(spec), rule=rule) == ()
