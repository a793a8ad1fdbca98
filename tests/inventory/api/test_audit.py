"""The audit trail through the API."""

from __future__ import annotations

import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.models.people import Role
from inventory.services.audit import leave_row
from tests.factories import NOW, make_piece, make_user
from tests.inventory.api.cast import client_of, is_asked_to_sign_in, problem, stranger

pytestmark = pytest.mark.django_db

AUDIT = "/api/v1/audit/"


def test_the_owner_sees_who_did_what_and_narrows_it() -> None:
    person, piece = make_user(username="ann"), make_piece()
    leave_row(who=person, deed="judge piece", subject=piece, at=NOW, shelf="in")
    leave_row(who=None, deed="prune", subject=piece, at=NOW)
    client = client_of(Role.OWNER)
    (shown,) = client.get(f"{AUDIT}?who=ann").json()["results"]
    assert shown | {"id": 0} == {
        "id": 0,
        "at": "2026-03-02T09:00:00Z",
        "who": "ann",
        "deed": "judge piece",
        "subject_type": "piece",
        "subject_id": piece.pk,
        "subject_label": piece.label,
        "detail": {"shelf": "in"},
    }
    about = client.get(f"{AUDIT}?subject_type=piece&subject_id={piece.pk}").json()["results"]
    assert [(row["who"], row["deed"]) for row in about] == [("ann", "judge piece"), (None, "prune")]
    assert client.get(f"{AUDIT}?deed=prune").json()["results"] == about[1:]


def test_it_is_the_owners_alone() -> None:
    for role in (Role.INSPECTOR, Role.VIEWER):
        problem(client_of(role).get(AUDIT), 403, says="shown to the owner alone")
    assert is_asked_to_sign_in(stranger().get(AUDIT))


def test_the_list_costs_the_same_whatever_it_holds(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    client = client_of(Role.OWNER)
    for _ in range(3):
        leave_row(who=make_user(), deed="judge piece", subject=make_piece(), at=NOW)
        with django_assert_num_queries(3):
            client.get(AUDIT)
