import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import MeasurePoint, Spec, SpecCell
from inventory.models.people import Role
from inventory.queries.specs import draft_of, sheet_of, specs_of
from inventory.services.specs import revise_spec
from tests.factories import MM, NOW, make_spec, make_user

pytestmark = pytest.mark.django_db


def test_a_sheet_has_sizes_across_and_points_down_in_walk_order() -> None:
    sheet = sheet_of(make_spec())
    assert sheet.sizes == ("22", "24", "26")
    assert [row.point.code for row in sheet.rows] == ["UB", "WA", "CF"]
    waist = sheet.row_of("WA")
    assert waist is not None
    assert [cell and cell.nominal_nm // MM for cell in waist.cells] == [330, 355, 380]
    assert sheet.row_of("ZZ") is None


def test_a_sheet_takes_the_same_four_statements_however_long() -> None:
    for labels in (("22",), tuple(str(size) for size in range(18, 58))):
        spec = Spec.objects.select_related("style").get(pk=make_spec(sizes=labels).pk)
        with CaptureQueriesContext(connection) as captured:
            sheet = sheet_of(spec)
            assert [row.spec_point and row.spec_point.basis for row in sheet.rows] == ["half"] * 3
        assert len(captured) == 4


def test_a_tolerance_that_differs_is_not_common() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    cell = SpecCell.objects.get(spec_point__point__code="WA", size__label="24")
    cell.tolerance_plus_nm = 9 * MM
    cell.save()
    waist = sheet_of(spec).row_of("WA")
    assert waist is not None
    assert waist.tolerance_differs
    assert waist.common_tolerance is None


def test_a_draft_shows_every_active_point_and_says_what_is_missing() -> None:
    spec = make_spec(state=Spec.State.DRAFT)
    SpecCell.objects.filter(spec_point__point__code="WA", size__label="26").delete()
    MeasurePoint.objects.filter(style=spec.style, code="CF").update(is_active=False)
    sheet = sheet_of(spec)
    assert [row.point.code for row in sheet.rows] == ["UB", "WA"]
    assert sheet.missing == {"WA": ("26",)}


def test_a_revision_in_force_shows_the_points_it_was_agreed_with() -> None:
    spec = make_spec()
    MeasurePoint.objects.filter(style=spec.style, code="CF").update(is_active=False)
    late = spec.style.points.get(code="WA")
    late.pk, late.code = None, "HH"
    late._state.adding = True
    late.save()
    assert [row.point.code for row in sheet_of(spec).rows] == ["UB", "WA", "CF"]


def test_revisions_are_listed_newest_first_with_the_open_draft() -> None:
    spec = make_spec()
    draft = revise_spec(spec=spec, reason="tighter", by=make_user(Role.OWNER), at=NOW)
    assert list(specs_of(spec.style_id)) == [draft, spec]
    assert draft_of(spec.style_id) == draft
