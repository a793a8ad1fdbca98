import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, CataloguePoint
from inventory.models.people import Role
from inventory.services.catalogue_points import LimitOnSinglePoint, change_catalogue_point
from tests.factories import MM, NOW, make_style, make_user

pytestmark = pytest.mark.django_db


def test_a_default_is_changed_and_styles_already_made_keep_theirs() -> None:
    style = make_style()
    default = CataloguePoint.objects.get(group="laced", code="WA")
    change_catalogue_point(
        point=default, by=make_user(Role.OWNER), at=NOW, tolerance_minus_nm=3 * MM, level="thread mark"
    )
    assert style.points.get(code="WA").level != "thread mark"
    changed = AuditRow.objects.get().detail["changed"]
    assert changed["tolerance_minus_nm"] == [6 * MM, 3 * MM]


def test_a_single_point_has_no_left_right_limit() -> None:
    default = CataloguePoint.objects.get(group="laced", code="BU")
    with pytest.raises(LimitOnSinglePoint, match="Empty the limit"):
        change_catalogue_point(point=default, by=make_user(Role.OWNER), at=NOW, asymmetry_limit_nm=MM)


def test_only_the_owner_changes_defaults() -> None:
    default = CataloguePoint.objects.get(group="laced", code="WA")
    with pytest.raises(NotAllowed):
        change_catalogue_point(point=default, by=make_user(Role.VIEWER), at=NOW, level="anywhere")
