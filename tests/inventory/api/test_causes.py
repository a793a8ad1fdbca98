"""Whose fault it is, through the API."""

from __future__ import annotations

import pytest

from tests.factories import make_batch
from tests.inventory.api.cast import ROLES, client_of, is_asked_to_sign_in, stranger
from tests.measured_batch import make_measured_batch

pytestmark = pytest.mark.django_db


def _waist_off(place: int, code: str, side: str) -> float:
    return (place + len(code + side)) % 3 - 1 + 11 * (code == "WA")


@pytest.mark.parametrize("role", ROLES)
def test_everybody_who_signs_in_may_ask(role: str) -> None:
    batch = make_measured_batch(off_mm=_waist_off)
    make_measured_batch()
    told = client_of(role).get(f"/api/v1/batches/{batch.label}/causes/").json()
    first = told["suspects"][0]
    assert first["cause"] == "waist_tape"
    assert first["effects"][0]["unit"] == "nm"
    assert first["effects"][0]["where"]["codes"] == ["WA"]
    assert first["effects"][0]["value"] == pytest.approx(11_000_000, rel=0.1)
    assert " mm ± " in first["effects"][0]["shown"]
    assert 0.5 < first["probability"] <= 1
    assert told["conclusion"] in ("cause", "cannot_tell")
    assert told["sentence"]
    assert told["ours"] < 0.05
    assert told["settling"]["sentence"]
    assert [one["witness"] for one in told["elsewhere"]] == ["other_maker", "other_maker"]
    assert (told["pieces"], told["pieces_measured"], told["readings"]) == (12, 12, 72)
    assert "stack" in told["not_looked_for"]


def test_a_batch_that_is_not_measured_has_no_answer() -> None:
    told = client_of("viewer").get(f"/api/v1/batches/{make_batch().label}/causes/").json()
    assert (told["conclusion"], told["sentence"], told["suspects"], told["settling"]) == ("", "", [], None)
    assert (told["elsewhere"], told["not_looked_for"], told["nothing"]) == ([], [], None)


def test_a_stranger_is_asked_to_sign_in_and_nobody_finds_a_batch_that_is_not_there() -> None:
    assert is_asked_to_sign_in(stranger().get("/api/v1/batches/B0001/causes/"))
    assert client_of("viewer").get("/api/v1/batches/B9999/causes/").status_code == 404
