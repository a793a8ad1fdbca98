"""Sampling through the API: the plan, the draw, the decision, what the sample says of the rest."""

from __future__ import annotations

import pytest

from inventory.models import BatchDecision, BatchSampling
from inventory.models.people import Role
from inventory.services.sampling.draws import Drawn
from tests.inventory.api.cast import ROLES, client_of, is_asked_to_sign_in, problem, stranger
from tests.inventory.services.sampling.cast import agreed, big_batch, drawn, measure

pytestmark = pytest.mark.django_db


def test_the_plan_stands_before_the_draw_for_everybody_who_signs_in() -> None:
    batch = big_batch(120)
    agreed(batch)
    address = f"/api/v1/batches/{batch.label}/sampling/"
    plan = client_of(Role.VIEWER).get(address).json()
    assert (plan["state"], plan["first"], plan["severity"], plan["seed"]) == ("plan", 20, "normal", None)
    assert [client_of(role).get(address).json() for role in ROLES] == [plan] * len(ROLES)
    major = next(one for one in plan["classes"] if one["name"] == "major")
    assert (major["letter"], major["pieces"], major["accept"], major["reject"]) == ("F", 20, 1, 2)
    assert is_asked_to_sign_in(stranger().get(address))


def test_a_batch_is_drawn_measured_and_decided() -> None:
    batch = big_batch(120)
    agreed(batch)
    address = f"/api/v1/batches/{batch.label}/sampling/"
    made = client_of(Role.INSPECTOR).post(address, {"seed": "77", "kind": "random"})
    assert made.status_code == 201
    sample = made.json()
    assert (sample["state"], sample["seed"], len(sample["pieces"])) == ("go on", "77", 20)
    assert "with seed 77" in sample["how_to_repeat"]
    problem(client_of(Role.INSPECTOR).post(f"{address}decision/", {}), 403)
    undecided = client_of(Role.OWNER).post(f"{address}decision/", {})
    problem(undecided, 409, says="is not decided yet", kind="/problems/not-decided-yet")
    rows = list(batch.sampling.drawn.select_related("piece"))
    measure(Drawn(batch.sampling, rows), out={1, 2, 3})
    decided = client_of(Role.OWNER).post(f"{address}decision/", {"original": True}).json()
    assert decided["decision"]["outcome"] == "refused"
    assert decided["rest"]["claim"].startswith("Of 120 pieces 20 were measured and 3 are out beyond doubt")
    assert client_of(Role.VIEWER).get(address).json() == decided
    again = client_of(Role.OWNER).post(f"{address}decision/", {})
    problem(again, 409, says="Its decision stays", kind="/problems/decided-already")
    assert BatchDecision.objects.count() == 1


def test_what_cannot_be_drawn_is_refused_at_its_place() -> None:
    batch = big_batch(120)
    address = f"/api/v1/batches/{batch.label}/sampling/"
    client = client_of(Role.INSPECTOR)
    problem(client.post(address, {}), 422, says="Set the sampling", kind="/problems/cannot-draw")
    agreed(batch)
    refused = problem(client.post(address, {"seed": "lucky"}), 422, kind="/problems/cannot-draw")
    assert refused["errors"][0]["pointer"] == "/seed"
    problem(client.post(address, {"seeds": "1"}), 400, says="There is no 'seeds' here")
    problem(client_of(Role.VIEWER).post(address, {}), 403)
    assert not BatchSampling.objects.exists()
    drawn(batch)
    problem(client.post(address, {}), 409, says="It stays as it is", kind="/problems/drawn-already")


def test_a_plan_larger_than_the_batch_measures_every_piece() -> None:
    batch = big_batch(60)
    agreed(batch, level="III", aql_major="0.10", aql_minor="0.10")
    plan = client_of(Role.VIEWER).get(f"/api/v1/batches/{batch.label}/sampling/").json()
    assert (plan["state"], plan["first"]) == ("every piece", 60)
    assert any("inspect all 60" in note for note in plan["notes"])
