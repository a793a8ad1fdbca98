import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.models import CataloguePoint
from inventory.models.people import Role
from inventory.queries.styles import offers_for, points_of, style_by_code, style_lines
from inventory.services.points import retire_point
from inventory.services.specs import revise_spec
from tests.factories import NOW, make_spec, make_style, make_user

pytestmark = pytest.mark.django_db


def test_the_list_says_how_many_points_and_which_revisions(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    owner = make_user(Role.OWNER)
    spec = make_spec(make_style(code="b-elm"))
    revise_spec(spec=spec, reason="tighter", by=owner, at=NOW)
    retire_point(point=spec.style.points.get(code="CF"), by=owner, at=NOW)
    make_style(code="a-oak")
    make_style(code="c-ash", is_active=False)
    with django_assert_num_queries(1):
        lines = style_lines()
    assert [(line.style.code, line.points, line.in_force, line.draft) for line in lines] == [
        ("a-oak", 3, None, None),
        ("b-elm", 2, 1, 2),
    ]
    assert len(style_lines(with_retired=True)) == 3


def test_a_style_is_found_in_any_case() -> None:
    style = make_style(code="elm")
    assert style_by_code("ELM") == style
    assert style_by_code("oak") is None


def test_retired_points_stand_last() -> None:
    style = make_style()
    retire_point(point=style.points.get(code="UB"), by=make_user(Role.OWNER), at=NOW)
    assert [point.code for point in points_of(style)] == ["WA", "CF", "UB"]


def test_a_family_is_offered_its_own_points_with_the_core_ticked() -> None:
    offers = {offer.point.code: offer.core for offer in offers_for("laced_underbust")}
    assert offers["WA"] is True
    assert offers["EY"] is False
    assert "FB" not in offers
    assert {offer.point.code for offer in offers_for("laced_overbust")} >= {"FB", "WA"}


def test_points_the_shop_added_to_its_catalogue_are_offered_too() -> None:
    own = CataloguePoint.objects.get(group="laced", code="WA")
    own.pk, own.code = None, "OWN"
    own._state.adding = True
    own.save()
    assert "OWN" in {offer.point.code for offer in offers_for("laced_underbust")}
    assert "OWN" not in {offer.point.code for offer in offers_for("jacket")}
