import pytest

from inventory.models import MeasurePoint, Spec
from inventory.models.people import Role
from inventory.queries.spec_differences import Differences, LengthChange, WordChange, differences
from inventory.queries.specs import sheet_of
from inventory.services.spec_cells import set_cells
from inventory.services.spec_entries import CellEntry, PointEntry
from inventory.services.spec_sizes import change_draft
from inventory.services.specs import revise_spec
from tests.factories import MM, NOW, make_spec, make_user

pytestmark = pytest.mark.django_db


def _revision(spec: Spec) -> Spec:
    return revise_spec(spec=spec, reason="tighter", by=make_user(Role.OWNER), at=NOW)


def _compared(old: Spec, new: Spec) -> Differences:
    return differences(sheet_of(old), sheet_of(new))


def _set_waist(spec: Spec, *nominals: str, **fields: str) -> None:
    cells = {size: CellEntry(nominal=typed) for size, typed in zip(("22", "24", "26"), nominals, strict=True)}
    entry = PointEntry(cells=cells, **fields)
    set_cells(spec=spec, entries={"WA": entry}, by=make_user(Role.OWNER), at=NOW)


def test_a_copy_differs_in_nothing() -> None:
    spec = make_spec()
    assert _compared(spec, _revision(spec)).none


def test_changed_figures_are_told_by_point_and_size() -> None:
    spec = make_spec()
    draft = _revision(spec)
    _set_waist(draft, "330", "352", "380", minus="6", plus="6", pair_limit="6", step="25")
    (point,) = _compared(spec, draft).points
    assert point.point.code == "WA"
    assert point.lengths == (LengthChange("nominal", "24", 355 * MM, 352 * MM),)
    assert point.lengths[0].by_nm == -3 * MM


def test_sizes_that_changed_alike_are_told_together() -> None:
    spec = make_spec()
    draft = _revision(spec)
    _set_waist(draft, "330", "355", "380", minus="4", plus="6", pair_limit="6", step="25")
    (point,) = _compared(spec, draft).points
    assert point.lengths == (LengthChange("tolerance minus", "", 6 * MM, 4 * MM),)


def test_a_tolerance_that_came_apart_is_told_by_size() -> None:
    spec = make_spec()
    draft = _revision(spec)
    cells = {
        "22": CellEntry(nominal="330"),
        "24": CellEntry(nominal="355", plus="9"),
        "26": CellEntry(nominal="380", plus="9"),
    }
    entry = PointEntry(minus="6", plus="6", pair_limit="6", step="25", cells=cells)
    set_cells(spec=draft, entries={"WA": entry}, by=make_user(Role.OWNER), at=NOW)
    (point,) = _compared(spec, draft).points
    assert point.lengths == (LengthChange("tolerance plus", "24, 26", 6 * MM, 9 * MM),)


def test_changed_choices_are_told_in_words() -> None:
    spec = make_spec()
    draft = _revision(spec)
    _set_waist(
        draft,
        "330",
        "355",
        "380",
        basis="full",
        minus="6",
        plus="6",
        pair_limit="6",
        favourable_side="plus",
        favourable_limit="12",
        step="25",
    )
    (point,) = _compared(spec, draft).points
    assert point.words == (
        WordChange("basis", "as read (per half)", "full girth"),
        WordChange("favourable side", "neither side", "larger is to the buyer's advantage"),
    )
    assert point.lengths == (LengthChange("limit on the favourable side", "", None, 12 * MM),)
    assert point.lengths[0].by_nm is None


def test_sizes_and_frame_that_changed_are_told_once() -> None:
    spec = make_spec()
    draft = _revision(spec)
    draft = change_draft(
        spec=draft,
        unit_of_record="in",
        size_labels=["24", "26", "28"],
        base_size="24",
        reason="tighter",
        drop_figures=True,
        by=make_user(Role.OWNER),
        at=NOW,
    )
    found = _compared(spec, draft)
    assert (found.sizes_added, found.sizes_removed) == (("28",), ("22",))
    assert found.words == (WordChange("unit of record", "mm", "in"), WordChange("base size", "22", "24"))
    assert found.points == ()


def test_points_that_came_or_went_are_told() -> None:
    spec = make_spec()
    MeasurePoint.objects.filter(style=spec.style, code="CF").update(is_active=False)
    late = spec.style.points.get(code="WA")
    late.pk, late.code = None, "HH"
    late._state.adding = True
    late.save()
    found = _compared(spec, _revision(spec))
    assert {(point.point.code, point.is_new, point.is_gone) for point in found.points} == {
        ("HH", True, False),
        ("CF", False, True),
    }
