"""Studies and budgets for other programs: to look up, and blind until the study is finished."""

from __future__ import annotations

import pytest

from inventory.models.people import Role
from inventory.services.studies import finish_study
from tests.factories import MM, NOW, make_instrument, make_spec, make_study, make_user
from tests.inventory.api.cast import ROLES, client_of, is_asked_to_sign_in, problem, stranger
from tests.study_readings import read_study

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    "address", ["/api/v1/studies/", "/api/v1/studies/S001/", "/api/v1/styles/s1/points/WA/budget/"]
)
def test_a_stranger_is_asked_to_sign_in(address: str) -> None:
    assert is_asked_to_sign_in(stranger().get(address))


@pytest.mark.parametrize("role", ROLES)
def test_a_running_study_shows_no_figure_to_anybody(role: str) -> None:
    study = read_study(make_study(pieces=5))
    shown = client_of(role).get(f"/api/v1/studies/{study.label}/").json()
    assert (shown["label"], shown["state"], shown["points"]) == (study.label, "running", [])
    (line,) = client_of(role).get("/api/v1/studies/").json()["results"]
    assert line["label"] == study.label


def test_a_finished_study_shows_every_part() -> None:
    study = read_study(make_study(pieces=6))
    finish_study(study=study, by=make_user(Role.OWNER), at=NOW)
    shown = client_of(Role.VIEWER).get(f"/api/v1/studies/{study.label.lower()}/").json()
    waist = shown["points"][0]
    assert waist["point"] == "WA"
    assert waist["parts"][0]["name"] == "repeatability"
    assert waist["parts"][0]["sd"]["nm"] > 0
    assert waist["pooled"] in (True, False)


def test_a_budget_gives_lines_and_outcomes_and_says_what_it_leaves_out() -> None:
    point = make_spec().style.points.get(code="WA")
    make_instrument(stated_u_nm=MM)
    address = f"/api/v1/styles/{point.style.code}/points/wa/budget/"
    shown = client_of(Role.VIEWER).get(address, {"readings": 4}).json()
    assert shown["error_from"] == "planning value"
    assert [one["code"] for one in shown["outcomes"]] == ["reading", "mean", "full", "difference"]
    assert shown["outcomes"][1]["words"] == "mean of 4 by 1 person"
    assert shown["outcomes"][0]["expanded"]["nm"] > shown["outcomes"][0]["uncertainty"]["nm"]
    assert len(shown["not_counted"]) == 2


def test_what_is_not_there_or_cannot_be_asked_is_named() -> None:
    spec = make_spec()
    problem(client_of().get("/api/v1/studies/S999/"), 404, says="S999")
    problem(client_of().get(f"/api/v1/styles/{spec.style.code}/points/XX/budget/"), 404, says="XX")
    address = f"/api/v1/styles/{spec.style.code}/points/WA/budget/"
    problem(
        client_of().get(address, {"readings": 1, "people": 2}),
        422,
        says="people",
        kind="/problems/impossible-input",
    )
