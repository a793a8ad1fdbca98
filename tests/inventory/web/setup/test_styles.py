import pytest
from django.urls import reverse

from inventory.models import Style
from inventory.models.people import Role
from tests.factories import make_spec, make_style
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db


def test_the_families_are_shown_with_their_drawings() -> None:
    page = said(client_of().get(reverse("style-new")))
    for family in Style.Family.values:
        assert f"?family={family}" in page
    assert page.count("<svg xmlns") == len(Style.Family.values)


def test_the_core_points_are_ticked_beforehand_and_marked_common_practice() -> None:
    page = said(client_of().get(reverse("style-new"), {"family": "laced_underbust"}))
    assert 'value="WA" checked' in page
    assert 'value="EY">' in page
    assert "common practice, no source" in page


def test_a_style_is_started_with_the_points_ticked() -> None:
    boxes = {"family": "laced_underbust", "code": "elm", "name": "Elm", "point_codes": ["WA", "CF"]}
    answer = client_of().post(reverse("style-new"), boxes)
    assert answer.status_code == 302
    style = Style.objects.get()
    assert [point.code for point in style.points.all()] == ["WA", "CF"]
    assert style.contains_metal is False


def test_without_a_point_the_form_says_so_and_keeps_what_was_typed() -> None:
    page = said(client_of().post(reverse("style-new"), {"family": "jacket", "code": "ash", "name": "Ash"}))
    assert "No point of measure is chosen" in page
    assert 'value="Ash"' in page
    assert not Style.objects.exists()


def test_a_point_of_another_family_is_refused() -> None:
    boxes = {"family": "jacket", "code": "ash", "name": "Ash", "point_codes": ["WA"]}
    assert "WA is not one of the available choices" in said(client_of().post(reverse("style-new"), boxes))


def test_a_family_that_does_not_exist_leads_back_to_the_drawings() -> None:
    assert "What is it?" in said(client_of().get(reverse("style-new"), {"family": "cape"}))


def test_the_page_shows_drawing_nine_words_and_walk() -> None:
    spec = make_spec(make_style(code="elm"))
    page = said(client_of().get(reverse("style", args=["elm"])))
    assert "<svg xmlns" in page
    for head in ("Point", "From", "To", "Path", "Level", "State", "Face", "Kind", "Side", "Walk"):
        assert f'<th scope="col">{head}</th>' in page or head == "Walk"
    assert "Move WA up" in page
    assert reverse("spec", args=[spec.pk]) in page


def test_the_sheet_on_how_to_measure_is_asked_for_from_the_page() -> None:
    make_style(code="elm")
    address = f"{reverse('document-new')}?kind=how-to-measure&amp;style=elm"
    for role, offered in ((Role.OWNER, True), (Role.INSPECTOR, True), (Role.VIEWER, False)):
        assert (address in said(client_of(role).get(reverse("style", args=["elm"])))) is offered, role
    assert client_of().get(address.replace("&amp;", "&")).status_code == 200


def test_a_style_without_points_or_spec_says_what_is_next() -> None:
    make_style([], code="bare")
    page = said(client_of().get(reverse("style", args=["bare"])))
    assert "No spec yet" in page
    assert reverse("spec-new", args=["bare"]) not in page


def test_the_walk_buttons_are_not_shown_to_who_may_not_use_them() -> None:
    make_style(code="elm")
    assert "Move WA up" not in said(client_of(Role.INSPECTOR).get(reverse("style", args=["elm"])))


def test_a_style_is_changed_and_its_family_stays() -> None:
    make_style(code="elm")
    boxes = {"code": "elm-2", "name": "Elm, second", "is_active": "on", "family": "jacket"}
    answer = client_of().post(reverse("style-edit", args=["elm"]), boxes)
    assert answer["Location"] == reverse("style", args=["elm-2"])
    assert Style.objects.get().family == Style.Family.LACED_UNDERBUST
