"""What a point states for its budget is typed on its form, and counts from then on."""

from __future__ import annotations

import pytest
from django.urls import reverse

from inventory.models.people import Role
from tests.factories import MM, make_spec, make_user
from tests.inventory.web.setup.cast import client_of, said
from tests.inventory.web.setup.test_points import BOXES

pytestmark = pytest.mark.django_db
STATED = {
    "height_nm": "-60",
    "height_u_nm": "3",
    "state_u_nm": "1 mm",
    "seams_crossed": "4",
    "cloth_direction": "warp",
    "edge_bound": "on",
}


def test_height_level_and_state_are_stored_and_a_height_may_lie_below_the_waist() -> None:
    point = make_spec().style.points.get(code="WA")
    boxes = BOXES | {"code": "WA", "kind": point.kind, "sides": point.sides} | STATED
    answer = client_of(user=make_user(Role.OWNER)).post(reverse("point-edit", args=[point.pk]), boxes)
    assert answer.status_code == 302
    point.refresh_from_db()
    assert (point.height_nm, point.height_u_nm, point.state_u_nm) == (-60 * MM, 3 * MM, MM)
    assert (point.seams_crossed, point.cloth_direction, point.edge_bound, point.is_secondary) == (
        4,
        "warp",
        True,
        False,
    )
    page = said(client_of().get(reverse("point-edit", args=[point.pk])))
    assert 'value="−60 mm"' in page


@pytest.mark.parametrize("box", ["height_u_nm", "state_u_nm"])
def test_an_uncertainty_below_zero_is_refused_and_the_fold_is_open(box: str) -> None:
    point = make_spec().style.points.get(code="WA")
    boxes = BOXES | {"code": "WA", "kind": point.kind, "sides": point.sides} | STATED | {box: "-1 mm"}
    page = said(client_of().post(reverse("point-edit", args=[point.pk]), boxes))
    assert '<details class="group" open>' in page
    point.refresh_from_db()
    assert point.height_nm is None


def test_the_form_leads_to_the_budget() -> None:
    point = make_spec().style.points.get(code="WA")
    page = said(client_of().get(reverse("point-edit", args=[point.pk])))
    assert reverse("point-budget", args=[point.style.code, point.pk]) in page
