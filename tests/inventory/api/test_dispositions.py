"""Deciding through the API."""

from __future__ import annotations

import pytest
from pytest_django import DjangoAssertNumQueries

from inventory.models import Disposition, Piece
from inventory.models.people import Role
from inventory.models.pieces import Standing
from tests.factories import make_piece, make_verdict
from tests.inventory.api.cast import Json, client_of, is_asked_to_sign_in, problem, stranger

pytestmark = pytest.mark.django_db


def decide(role: str, piece: Piece, **sent: object) -> Json:
    return client_of(role).post(f"/api/v1/pieces/{piece.label}/dispositions/", sent)


def test_an_inspector_releases_what_is_in_tolerance() -> None:
    piece = make_piece()
    make_verdict(piece, shelf="in")
    made = decide(Role.INSPECTOR, piece, decision="release")
    assert made.status_code == 201
    assert (made.json()["piece"], made.json()["decision"]) == (piece.label, "release")
    piece.refresh_from_db()
    assert piece.standing == Standing.RELEASE
    shown = client_of(Role.VIEWER).get(f"/api/v1/pieces/{piece.label}/dispositions/").json()
    assert shown == {"next": None, "results": [made.json()]}


def test_the_rest_is_the_owners() -> None:
    piece = make_piece()
    make_verdict(piece, shelf="out")
    problem(decide(Role.INSPECTOR, piece, decision="second", reason="waist"), 403, says="As inspector")
    problem(decide(Role.VIEWER, piece, decision="hold"), 403, says="As viewer")
    assert decide(Role.OWNER, piece, decision="second", reason="waist").status_code == 201


def test_what_a_decision_lacks_is_pointed_at() -> None:
    piece = make_piece()
    body = problem(
        decide(Role.OWNER, piece, decision="concession", agreed_with="A. Buyer"),
        422,
        says="day it ends",
        kind="/problems/disposition-refused",
    )
    assert body["errors"][0]["pointer"] == "/ends_on"
    assert problem(decide(Role.OWNER, piece), 400)["errors"][0]["pointer"] == "/decision"
    problem(decide(Role.OWNER, piece, decision="burn"), 400, says="burn")
    problem(decide(Role.OWNER, piece, decision="hold", ends_on="2 March"), 400, says="2026-03-02")
    assert not Disposition.objects.exists()


def test_a_stranger_sees_and_decides_nothing() -> None:
    there = f"/api/v1/pieces/{make_piece().label}/dispositions/"
    assert is_asked_to_sign_in(stranger().get(there))
    assert is_asked_to_sign_in(stranger().post(there, {"decision": "hold"}))


def test_the_list_costs_the_same_whatever_it_holds(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    piece, client = make_piece(), client_of()
    for _ in range(3):
        decide(Role.OWNER, piece, decision="rework", reason="re-stitch")
        with django_assert_num_queries(4):
            client.get(f"/api/v1/pieces/{piece.label}/dispositions/")
