"""The budget of a point on screen, and stating its error."""

from __future__ import annotations

import pytest
from django.urls import reverse

from inventory.models import MeasurePoint, Shop
from inventory.models.people import Role
from tests.factories import MM, make_instrument, make_spec
from tests.inventory.web.setup.cast import client_of, said

pytestmark = pytest.mark.django_db


def a_point() -> MeasurePoint:
    return make_spec().style.points.get(code="WA")


def budget_of(point: MeasurePoint) -> str:
    return reverse("point-budget", args=[point.style.code, point.pk])


def test_a_viewer_reads_the_table_with_its_bottom_line() -> None:
    point = a_point()
    tape = make_instrument(stated_u_nm=MM)
    page = said(client_of(Role.VIEWER).get(budget_of(point)))
    assert str(tape) in page
    for words in ("Welch and Satterthwaite", "Expanded uncertainty U", "full girth, left + right"):
        assert words in page
    assert "State its error yourself" not in page


def test_the_mean_is_of_as_many_readings_as_asked_for() -> None:
    point = a_point()
    page = said(client_of(Role.VIEWER).get(budget_of(point), {"readings": "4", "people": "2"}))
    assert "mean of 4 by 2 people" in page


def test_more_people_than_readings_are_refused_in_words_and_the_table_stays() -> None:
    page = said(client_of(Role.VIEWER).get(budget_of(a_point()), {"readings": "1", "people": "2"}))
    assert 'role="alert"' in page
    assert "Expanded uncertainty U" in page


@pytest.mark.parametrize("asked", [{"size": "none"}, {"tape": "x"}, {"readings": "-1"}, {"readings": "²"}])
def test_what_cannot_be_asked_for_falls_back_to_the_usual(asked: dict[str, str]) -> None:
    assert client_of(Role.VIEWER).get(budget_of(a_point()), asked).status_code == 200


def test_an_inch_shop_reads_inches() -> None:
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    page = said(client_of(Role.VIEWER).get(budget_of(a_point())))
    assert " in</td>" in page
    assert " mm</td>" not in page


def test_a_point_under_another_style_is_not_found() -> None:
    point, other = a_point(), make_spec().style
    address = reverse("point-budget", args=[other.code, point.pk])
    assert client_of(Role.VIEWER).get(address).status_code == 404


def test_the_owner_states_an_error_and_the_budget_says_where_it_comes_from() -> None:
    point, owner = a_point(), client_of()
    boxes = {
        "repeat_sd_nm": "1.2",
        "person_sd_nm": "0.8 mm",
        "fixed_sd_nm": "0",
        "reason": "a study elsewhere",
    }
    page = said(owner.post(reverse("point-error", args=[point.pk]), boxes, follow=True))
    assert "a study elsewhere" in page
    assert "stated by the owner" in page
    point.refresh_from_db()
    assert point.as_reading_error().repeat_sd_nm == 1_200_000


def test_a_figure_below_what_can_be_is_said_at_its_box() -> None:
    point, owner = a_point(), client_of()
    boxes = {"repeat_sd_nm": "0", "person_sd_nm": "1", "fixed_sd_nm": "0", "reason": "x"}
    page = said(owner.post(reverse("point-error", args=[point.pk]), boxes))
    assert "No tape repeats without any" in page
    point.refresh_from_db()
    assert point.known_error is None
