"""Deliveries, batches and pieces through the API."""

from __future__ import annotations

import pytest
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from inventory.models import AuditRow, Batch, Delivery, Piece
from inventory.models.people import Role
from inventory.models.pieces import Standing
from tests.factories import (
    make_batch,
    make_delivery,
    make_inspection,
    make_maker,
    make_piece,
    make_spec,
    make_style,
    make_user,
    make_verdict,
)
from tests.inventory.api.cast import ROLES, Json, client_of, is_asked_to_sign_in, problem, stranger

pytestmark = pytest.mark.django_db

V1 = "/api/v1"
ARRIVAL = {"arrived_at": "2026-03-02T09:00:00+01:00", "order_reference": "PO-9"}


def labels(answer: Json) -> list[str]:
    return [row["label"] for row in answer.json()["results"]]


@pytest.mark.parametrize("address", ["deliveries/", "batches/", "pieces/"])
@pytest.mark.parametrize("role", ROLES)
def test_everybody_who_signs_in_may_look(address: str, role: str) -> None:
    assert client_of(role).get(f"{V1}/{address}").json() == {"next": None, "results": []}


@pytest.mark.parametrize(
    "address",
    ["deliveries/", "deliveries/D0001/", "batches/", "batches/B0001/", "pieces/", "pieces/P000001/"],
)
def test_a_stranger_is_asked_to_sign_in(address: str) -> None:
    assert is_asked_to_sign_in(stranger().get(f"{V1}/{address}"))


@pytest.mark.parametrize("address", ["deliveries/", "deliveries/D0001/batches/", "batches/B0001/pieces/"])
def test_a_stranger_receives_nothing(address: str) -> None:
    assert is_asked_to_sign_in(stranger().post(f"{V1}/{address}", {}))


def receive_everything(client: APIClient) -> list[Json]:
    """The answers to a delivery, a batch in it, and pieces in that."""
    maker, spec = make_maker(code="north", notice_window_days=14), make_spec()
    delivery = client.post(f"{V1}/deliveries/", {"maker": maker.code} | ARRIVAL)
    there = delivery.json().get("label") or make_delivery().label
    batch = client.post(f"{V1}/deliveries/{there}/batches/", {"style": spec.style.code})
    there = batch.json().get("label") or make_batch(spec).label
    counts = [{"size_label": "24", "count": 2, "colour": "black"}, {"size_label": "26", "count": 1}]
    return [delivery, batch, client.post(f"{V1}/batches/{there}/pieces/", {"counts": counts})]


@pytest.mark.parametrize("role", [Role.OWNER, Role.INSPECTOR])
def test_a_parcel_is_received_down_to_its_pieces(role: str) -> None:
    person = make_user(role)
    delivery, batch, pieces = receive_everything(client_of(user=person))
    assert [answer.status_code for answer in (delivery, batch, pieces)] == [201, 201, 201]
    body = delivery.json()
    assert (body["maker"], body["received_by"], body["notice_window_days"]) == ("north", person.username, 14)
    assert body["notice_window_ends"] == "2026-03-16"
    assert batch.json()["delivery"] == body["label"]
    assert batch.json()["spec"]["state"] == "in_force"
    made = pieces.json()["labels"]
    assert made == [piece.label for piece in Piece.objects.order_by("number")]
    assert set(AuditRow.objects.filter(who=person).values_list("deed", flat=True)) >= {
        "receive delivery",
        "add batch",
        "number pieces",
    }
    shown = client_of(Role.VIEWER).get(f"{V1}/pieces/{made[0].lower()}/").json()
    assert (shown["size_label"], shown["colour"], shown["standing"], shown["verdict"]) == (
        "24",
        "black",
        "hold",
        None,
    )


def test_a_viewer_receives_nothing() -> None:
    for answer in receive_everything(client_of(Role.VIEWER)):
        problem(answer, 403, says="As viewer you may not receive deliveries")
    assert not Piece.objects.exists()


def test_what_is_sent_wrong_is_pointed_at_all_at_once() -> None:
    sent = {"maker": 12, "arrived_at": "2026-03-02", "cartons": "3", "order-reference": "PO"}
    body = problem(client_of().post(f"{V1}/deliveries/", sent), 400)
    assert [entry["pointer"] for entry in body["errors"]] == ["/order-reference"]
    del sent["order-reference"]
    body = problem(client_of().post(f"{V1}/deliveries/", sent), 400)
    assert [entry["pointer"] for entry in body["errors"]] == [
        "/maker",
        "/arrived_at",
        "/order_reference",
        "/cartons",
    ]
    assert not Delivery.objects.exists()


def test_names_that_are_not_known_are_refused_where_they_stand() -> None:
    client = client_of()
    body = problem(client.post(f"{V1}/deliveries/", {"maker": "none"} | ARRIVAL), 422, says="'none'")
    assert body["errors"][0]["pointer"] == "/maker"
    there = f"{V1}/deliveries/{make_delivery().label}/batches/"
    assert problem(client.post(there, {"style": "none"}), 422)["errors"][0]["pointer"] == "/style"
    sent = {"style": make_spec().style.code, "revision": 7}
    assert problem(client.post(there, sent), 422)["errors"][0]["pointer"] == "/revision"
    draft = make_spec(make_style(code="other"), state="draft")
    for named, place in (({}, "/style"), ({"revision": draft.revision}, "/revision")):
        answer = client.post(there, {"style": "other", **named})
        body = problem(answer, 422, kind="/problems/spec-cannot-judge")
        assert body["errors"][0]["pointer"] == place
    assert not Batch.objects.exists()


def test_a_refusal_of_the_shop_names_its_situation() -> None:
    client = client_of()
    future = {"maker": make_maker().code} | ARRIVAL | {"arrived_at": "2099-01-01T00:00:00Z"}
    body = problem(
        client.post(f"{V1}/deliveries/", future), 422, says="future", kind="/problems/arrival-impossible"
    )
    assert body["errors"][0]["pointer"] == "/arrived_at"
    wrong_size = {"counts": [{"size_label": "24", "count": 1}, {"size_label": "99", "count": 1}]}
    body = problem(
        client.post(f"{V1}/batches/{make_batch().label}/pieces/", wrong_size),
        422,
        says="Size '99' is not in spec",
        kind="/problems/cannot-number",
    )
    assert body["errors"][0]["pointer"] == "/counts/1/size_label"


def test_rows_of_counts_are_pointed_into() -> None:
    there = f"{V1}/batches/{make_batch().label}/pieces/"
    sent = {"counts": [{"size_label": "24", "count": 1}, {"size_label": "24", "count": 0}]}
    body = problem(client_of().post(there, sent), 400)
    assert [entry["pointer"] for entry in body["errors"]] == ["/counts/1/count"]
    none = client_of().post(there, {"counts": []})
    body = problem(none, 422, says="No pieces", kind="/problems/cannot-number")
    assert [entry["pointer"] for entry in body["errors"]] == ["/counts"]


def test_what_is_not_there_is_named() -> None:
    client = client_of()
    for address, said in (
        ("deliveries/D0999/", "no delivery D0999"),
        ("batches/b999/", "no batch B0999"),
        ("pieces/P000999/", "no piece P000999"),
        ("batches/?delivery=D0999", "no delivery D0999"),
        ("pieces/?batch=B0999", "no batch B0999"),
    ):
        problem(client.get(f"{V1}/{address}"), 404, says=said)
    problem(client.post(f"{V1}/deliveries/D0999/batches/", {"style": make_spec().style.code}), 404)
    problem(client.post(f"{V1}/batches/B0999/pieces/", {"counts": [{"size_label": "24", "count": 1}]}), 404)


def test_lists_are_narrowed() -> None:
    client = client_of()
    spec = make_spec()
    first = make_batch(spec, delivery=make_delivery(order_reference="SPRING"))
    second = make_batch()
    released = make_piece(first, standing=Standing.RELEASE, colour="ivory")
    judged = make_piece(second, size_label="26")
    make_verdict(judged, shelf="out")
    maker = second.delivery.maker.code
    for address, expected in (
        (f"deliveries/?maker={maker}", [second.delivery.label]),
        ("deliveries/?text=spring", [first.delivery.label]),
        ("deliveries/?undecided=true", [second.delivery.label]),
        (f"batches/?maker={maker}", [second.label]),
        (f"batches/?style={spec.style.code}", [first.label]),
        (f"batches/?delivery={first.delivery.label}", [first.label]),
        (f"pieces/?batch={first.label}", [released.label]),
        ("pieces/?standing=hold", [judged.label]),
        ("pieces/?shelf=out", [judged.label]),
        ("pieces/?shelf=none", [released.label]),
        ("pieces/?size_label=26", [judged.label]),
        ("pieces/?text=ivory", [released.label]),
        (f"pieces/?maker={maker}", [judged.label]),
    ):
        assert labels(client.get(f"{V1}/{address}")) == expected, address
    for label in ("B12x", "xB12", "12", "B", "B1234567890", "P12"):
        problem(client.get(f"{V1}/pieces/?batch={label}"), 400)
        problem(client.get(f"{V1}/verdicts/?batch={label}"), 400)
    problem(client.get(f"{V1}/batches/?delivery=d906987x%15"), 400)
    problem(client.get(f"{V1}/pieces/?maker=none"), 404, says="'none'")
    problem(client.get(f"{V1}/pieces/?shelf=good"), 400, says="good")
    wrong = problem(client.get(f"{V1}/pieces/?standng=hold&text="), 400)
    assert [entry["parameter"] for entry in wrong["errors"]] == ["text", "standng"]


def test_a_batch_is_shown_with_its_counts() -> None:
    batch = make_batch()
    make_piece(batch)
    inspection = make_inspection(make_piece(batch, standing=Standing.RELEASE))
    make_verdict(shelf="in", claim="close", inspection=inspection)
    counts = client_of().get(f"{V1}/batches/{batch.label}/").json()["counts"]
    assert counts["pieces"] == 2
    assert counts["shelf"] == {"in": 1, "close": 0, "out": 0, "none": 1, "again": 0}
    assert counts["claim"] == {"in": 0, "close": 1, "out": 0, "none": 1, "again": 0}
    assert (counts["standing"]["hold"], counts["standing"]["release"], counts["standing"]["scrap"]) == (
        1,
        1,
        0,
    )
    assert client_of().get(f"{V1}/deliveries/").json()["results"][0]["counts"] == counts


def test_a_list_costs_the_same_whatever_it_holds(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    client = client_of()
    for _ in range(3):
        batch = make_batch()
        make_verdict(make_piece(batch))
        make_piece(batch)
        for address, statements in (("deliveries", 6), ("batches", 4), ("pieces", 3)):
            with django_assert_num_queries(statements):
                client.get(f"{V1}/{address}/")
