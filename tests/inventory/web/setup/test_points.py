import pytest
from django.urls import reverse

from inventory.models import AuditRow, CataloguePoint, Shop, Style
from tests.factories import MM, make_spec, make_style
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db
BOXES = {
    "code": "PN-3",
    "name": "panel 3 at the waist",
    "measured_from": "seam",
    "measured_to": "seam",
    "path": "straight",
    "level": "on the waist tape",
    "state": "taut",
    "face": "outside",
    "kind": "placement",
    "sides": "pair",
    "pitfalls": "",
    "same_person_sd_nm": "1/32 in",
    "two_people_sd_nm": "1 mm",
}


def _walk(style: Style) -> list[str]:
    return [point.code for point in style.points.filter(is_active=True)]


def test_a_point_is_added_with_its_spread_typed_in_any_unit() -> None:
    style = make_style(code="elm")
    assert client_of().post(reverse("point-new", args=["elm"]), BOXES).status_code == 302
    assert style.points.get(code="PN-3").same_person_sd_nm == 793_750


def test_an_inch_shop_is_proposed_inches() -> None:
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    style, client = make_style(code="elm"), client_of()
    page = said(client.get(reverse("point-new", args=["elm"])))
    assert 'value="0.06 in"' in page
    assert 'value="0.08 in"' in page
    for name, arguments in (("catalogue", []), ("style", ["elm"])):
        page = said(client.get(reverse(name, args=arguments)))
        assert " mm" not in page
        assert "0.06 in" in page or "0.08 in" in page
    client.post(reverse("point-new", args=["elm"]), BOXES | {"two_people_sd_nm": "1/16"})
    assert style.points.get(code="PN-3").two_people_sd_nm == 1_587_500


def test_a_new_point_can_start_from_the_catalogue() -> None:
    make_style(code="elm")
    page = said(client_of().get(reverse("point-new", args=["elm"]), {"from": "HH"}))
    assert 'value="half high hip"' in page
    assert "Words of the catalogue: common practice, no source" in page
    assert '<option value="WA"' not in page


def test_people_who_agree_too_well_are_told_at_the_box() -> None:
    make_style(code="elm")
    boxes = BOXES | {"same_person_sd_nm": "2", "two_people_sd_nm": "1 1/2"}
    page = said(client_of().post(reverse("point-new", args=["elm"]), boxes))
    assert "fractions belong to inches" in page
    page = said(client_of().post(reverse("point-new", args=["elm"]), BOXES | {"same_person_sd_nm": "2"}))
    assert "Two people cannot agree better than one with herself" in page
    assert 'value="2"' in page


def test_the_edit_page_marks_the_point_in_the_drawing() -> None:
    point = make_style().points.get(code="WA")
    assert "half waist (WA) marked" in said(client_of().get(reverse("point-edit", args=[point.pk])))


def test_a_point_of_ones_own_has_no_place_in_the_drawing() -> None:
    style = make_style(code="elm")
    client = client_of()
    client.post(reverse("point-new", args=["elm"]), BOXES)
    own = style.points.get(code="PN-3")
    assert "PN-3 is your own point" in said(client.get(reverse("point-edit", args=[own.pk])))
    assert "Not in the drawing: PN-3" in said(client.get(reverse("style", args=["elm"])))


def test_what_a_frozen_spec_stands_on_is_refused_in_the_form() -> None:
    point = make_spec().style.points.get(code="WA")
    page = said(client_of().post(reverse("point-edit", args=[point.pk]), BOXES | {"code": "WA"}))
    assert "Retire the point and add a new one" in page
    assert not AuditRow.objects.exists()


def test_the_walk_is_changed_by_plain_buttons() -> None:
    style = make_style(code="elm")
    client, point = client_of(), style.points.get(code="WA")
    answer = client.post(reverse("point-move", args=[point.pk]), {"direction": "up"})
    assert answer["Location"] == reverse("style", args=["elm"]) + "#point-WA"
    assert _walk(style) == ["WA", "UB", "CF"]
    client.post(reverse("point-move", args=[point.pk]), {"direction": "down"})
    assert _walk(style) == ["UB", "WA", "CF"]


def test_retiring_asks_first_and_can_be_taken_back() -> None:
    style = make_style(code="elm")
    client, point = client_of(), style.points.get(code="WA")
    assert "Leave this point out from now on?" in said(client.get(reverse("point-retire", args=[point.pk])))
    assert _walk(style) == ["UB", "WA", "CF"]
    client.post(reverse("point-retire", args=[point.pk]))
    assert _walk(style) == ["UB", "CF"]
    page = said(client.post(reverse("point-move", args=[point.pk]), {"direction": "up"}, follow=True))
    assert "Bring it back first" in page
    client.post(reverse("point-bring-back", args=[point.pk]))
    assert _walk(style) == ["UB", "WA", "CF"]


def test_the_last_point_cannot_retire_and_the_page_says_why() -> None:
    style = make_style(code="elm")
    style.points.exclude(code="WA").delete()
    page = said(client_of().post(reverse("point-retire", args=[style.points.get().pk]), follow=True))
    assert "is the last point of this style" in page


def test_a_default_of_the_catalogue_is_changed() -> None:
    point = CataloguePoint.objects.get(group="laced", code="WA")
    boxes = BOXES | {
        "code": "WA",
        "kind": "half",
        "tolerance_minus_nm": "1/8 in",
        "tolerance_plus_nm": "3",
        "basis": "half",
        "asymmetry_limit_nm": "",
        "source": "agreed with North, May",
    }
    assert client_of().post(reverse("catalogue-point", args=[point.pk]), boxes).status_code == 302
    point.refresh_from_db()
    assert (point.tolerance_minus_nm, point.tolerance_plus_nm) == (3_175_000, 3 * MM)
    assert point.asymmetry_limit_nm is None
    assert "agreed with North, May" in said(client_of().get(reverse("catalogue")))
