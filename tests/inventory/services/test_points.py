import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, MeasurePoint, Spec, Style
from inventory.models.people import Role
from inventory.services.point_words import PeopleAgreeTooWell, PointCodeNotUsable, PointCodeTaken
from inventory.services.points import (
    LastPoint,
    PointIsInUse,
    WalkIncomplete,
    add_point,
    bring_back_point,
    change_point,
    move_point,
    reorder_points,
    retire_point,
)
from inventory.services.styles import WORDS
from tests.factories import (
    MM,
    NOW,
    make_batch,
    make_inspection,
    make_piece,
    make_reading,
    make_spec,
    make_style,
    make_user,
)

pytestmark = pytest.mark.django_db


def _words(point: MeasurePoint, **changed: object) -> dict[str, object]:
    return {word: getattr(point, word) for word in WORDS} | changed


def _walk(style: Style) -> list[str]:
    return [point.code for point in style.points.order_by("position") if point.is_active]


def test_a_point_of_ones_own_joins_the_end_of_the_walk() -> None:
    style = make_style()
    words = _words(style.points.get(code="WA"), code="PN-1", name="panel 1 at the waist")
    point = add_point(style=style, by=make_user(Role.OWNER), at=NOW, **words)  # type: ignore[arg-type]
    assert _walk(style) == ["UB", "WA", "CF", "PN-1"]
    assert AuditRow.objects.get().subject_label == str(point)


def test_a_code_is_once_in_a_style_in_any_case() -> None:
    style = make_style()
    words = _words(style.points.get(code="WA"), code="wa")
    with pytest.raises(PointCodeTaken, match="'wa' belongs to 'half waist'"):
        add_point(style=style, by=make_user(Role.OWNER), at=NOW, **words)  # type: ignore[arg-type]


@pytest.mark.parametrize("code", ["W A", "=WA", "-WA", "Tail\u0301e"])
def test_a_code_that_cannot_head_a_column_is_refused(code: str) -> None:
    style = make_style()
    words = _words(style.points.get(code="WA"), code=code)
    with pytest.raises(PointCodeNotUsable, match="Use up to 12 letters"):
        add_point(style=style, by=make_user(Role.OWNER), at=NOW, **words)  # type: ignore[arg-type]


def test_changing_the_reading_error_counts_as_a_change_of_points() -> None:
    style = make_style()
    point = style.points.get(code="WA")
    change_point(
        point=point, by=make_user(Role.OWNER), at=NOW, same_person_sd_nm=MM // 2, two_people_sd_nm=MM
    )
    before, style = style.points_version, Style.objects.get(pk=style.pk)
    assert style.points_version > before
    assert AuditRow.objects.get().detail["changed"]["two_people_sd_nm"] == [1_500_000, 1_000_000]


def test_two_people_do_not_agree_better_than_one() -> None:
    point = make_style().points.get(code="WA")
    with pytest.raises(PeopleAgreeTooWell, match=r"of two people is 0\.5 mm, that of one person 1 mm"):
        change_point(point=point, by=make_user(Role.OWNER), at=NOW, two_people_sd_nm=MM // 2)


@pytest.mark.parametrize(
    ("name", "value"),
    [("code", "WX"), ("kind", "length"), ("sides", "single"), ("informational", True)],
)
def test_what_a_frozen_spec_stands_on_is_fixed(name: str, value: object) -> None:
    point = make_spec().style.points.get(code="WA")
    with pytest.raises(PointIsInUse, match="Retire the point and add a new one") as refusal:
        change_point(point=point, by=make_user(Role.OWNER), at=NOW, **{name: value})  # type: ignore[arg-type]
    assert refusal.value.field == name
    change_point(point=point, by=make_user(Role.OWNER), at=NOW, level="on the thread mark")


def test_a_point_in_a_draft_only_can_still_change_its_kind() -> None:
    point = make_spec(state=Spec.State.DRAFT).style.points.get(code="WA")
    assert change_point(point=point, by=make_user(Role.OWNER), at=NOW, kind="length").kind == "length"


def test_a_point_that_was_read_is_fixed_too() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    inspection = make_inspection(make_piece(make_batch(spec)))
    make_reading(inspection, "WA")
    with pytest.raises(PointIsInUse):
        change_point(point=spec.style.points.get(code="WA"), by=make_user(Role.OWNER), at=NOW, sides="single")


def test_the_walk_is_set_in_the_order_given() -> None:
    style = make_style()
    reorder_points(style=style, codes=["CF", "UB", "WA"], by=make_user(Role.OWNER), at=NOW)
    assert _walk(style) == ["CF", "UB", "WA"]
    assert AuditRow.objects.get().detail == {"walk": ["CF", "UB", "WA"], "before": ["UB", "WA", "CF"]}
    assert Style.objects.get(pk=style.pk).points_version == style.points_version + 1


@pytest.mark.parametrize("codes", [["UB", "WA"], ["UB", "WA", "CF", "ZZ"], ["UB", "WA", "WA"]])
def test_a_walk_that_leaves_a_point_out_is_refused(codes: list[str]) -> None:
    style = make_style()
    with pytest.raises(WalkIncomplete, match="Load the page again"):
        reorder_points(style=style, codes=codes, by=make_user(Role.OWNER), at=NOW)
    assert _walk(style) == ["UB", "WA", "CF"]


@pytest.mark.parametrize(
    ("code", "places", "walk"),
    [
        ("WA", -1, ["WA", "UB", "CF"]),
        ("WA", 1, ["UB", "CF", "WA"]),
        ("UB", -1, ["UB", "WA", "CF"]),
        ("CF", 9, ["UB", "WA", "CF"]),
    ],
)
def test_a_point_moves_up_and_down_the_walk(code: str, places: int, walk: list[str]) -> None:
    style = make_style()
    move_point(point=style.points.get(code=code), places=places, by=make_user(Role.OWNER), at=NOW)
    assert _walk(style) == walk


def test_a_retired_point_leaves_the_walk_and_comes_back() -> None:
    owner, style = make_user(Role.OWNER), make_style()
    point = style.points.get(code="WA")
    retire_point(point=point, by=owner, at=NOW)
    assert _walk(style) == ["UB", "CF"]
    with pytest.raises(WalkIncomplete, match="Bring it back first"):
        move_point(point=point, places=1, by=owner, at=NOW)
    bring_back_point(point=point, by=owner, at=NOW)
    assert _walk(style) == ["UB", "WA", "CF"]


def test_the_last_point_stays() -> None:
    owner, style = make_user(Role.OWNER), make_style()
    for code in ("UB", "WA"):
        retire_point(point=style.points.get(code=code), by=owner, at=NOW)
    with pytest.raises(LastPoint, match="the last point of this style"):
        retire_point(point=style.points.get(code="CF"), by=owner, at=NOW)


def test_only_the_owner_changes_points() -> None:
    inspector, style = make_user(Role.INSPECTOR), make_style()
    point = style.points.get(code="WA")
    for attempt in (
        lambda: add_point(style=style, by=inspector, at=NOW, **_words(point, code="XX")),  # type: ignore[arg-type]
        lambda: change_point(point=point, by=inspector, at=NOW, level="anywhere"),
        lambda: reorder_points(style=style, codes=["CF", "UB", "WA"], by=inspector, at=NOW),
        lambda: retire_point(point=point, by=inspector, at=NOW),
        lambda: bring_back_point(point=point, by=inspector, at=NOW),
    ):
        with pytest.raises(NotAllowed):
            attempt()
