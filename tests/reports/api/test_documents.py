"""Documents through the API: asked for, made, fetched."""

from __future__ import annotations

import hashlib

import pytest
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from inventory.models import Batch, Job, Shop
from inventory.models.people import Role
from inventory.tasks import execute
from reports.models import Document
from tests.factories import make_batch, make_piece
from tests.inventory.api.cast import Json, client_of, is_asked_to_sign_in, problem, stranger

pytestmark = pytest.mark.django_db

DOCUMENTS = "/api/v1/documents/"


def ask(client: APIClient, **sent: object) -> Json:
    return client.post(DOCUMENTS, {"kind": "labels"} | sent)


@pytest.mark.parametrize("role", [Role.OWNER, Role.INSPECTOR])
def test_a_sheet_is_asked_for_made_and_fetched(measured_batch: Batch, role: str) -> None:
    client, piece = client_of(role), measured_batch.pieces.order_by("number")[0]
    asked = ask(client, kind="piece-sheet", piece=piece.label.lower(), paper="Letter")
    assert asked.status_code == 202
    there = f"{DOCUMENTS}{asked.json()['id']}/"
    assert (asked.json()["subject"], asked.json()["paper"]) == (piece.label, "Letter")
    assert (asked.json()["job"]["state"], asked.json()["digest"]) == ("waiting", "")
    problem(client.get(f"{there}file/"), 409, says="still being made", kind="/problems/document-not-made")
    execute(Document.objects.get().job_id)
    made = client_of(Role.VIEWER).get(there).json()
    assert (made["job"]["state"], made["pages"]) == ("done", 1)
    file = client_of(Role.VIEWER).get(f"{there}file/", headers={"Accept": "application/pdf"})
    content = file.getvalue()
    assert (file["Content-Type"], content[:5]) == ("application/pdf", b"%PDF-")
    assert (hashlib.sha256(content).hexdigest(), len(content)) == (made["digest"], made["size_bytes"])
    assert made["file_name"] in file["Content-Disposition"]


def test_the_paper_is_the_shops_and_the_same_waiting_document_is_shown_again() -> None:
    Shop.objects.update(paper="Letter")
    batch, client = make_piece().batch, client_of()
    first, second = ask(client, batch=batch.label, first=3), ask(client, batch=batch.label, first=3)
    assert first.json() == second.json()
    assert first.json()["paper"] == "Letter"
    assert Job.objects.count() == 1
    style = ask(client, kind="how-to-measure", style=batch.style.code)
    assert style.json()["subject"] == batch.style.code
    kinds = [row["kind"] for row in client.get(f"{DOCUMENTS}?kind=labels").json()["results"]]
    assert kinds == ["labels"]


def test_what_cannot_be_printed_says_why() -> None:
    client, empty = client_of(), make_batch()
    full = make_piece().batch
    problem(ask(client), 422, says="one of batch, piece or style")
    problem(ask(client, batch="B0001", piece="P000001"), 422, says="one of batch, piece or style")
    for sent, pointer in (
        ({"batch": "B999"}, "/batch"),
        ({"piece": "B0001"}, "/piece"),
        ({"style": "x"}, "/style"),
    ):
        assert problem(ask(client, **sent), 422)["errors"][0]["pointer"] == pointer
    body = problem(ask(client, batch=empty.label), 422, says="no pieces yet", kind="/problems/cannot-print")
    assert body["errors"][0]["pointer"] == "/batch"
    body = problem(
        ask(client, kind="piece-sheet", batch=full.label),
        422,
        says="about a piece",
        kind="/problems/cannot-print",
    )
    assert body["errors"][0]["pointer"] == "/kind"
    body = problem(
        ask(client, batch=full.label, first=99), 422, says="first free label", kind="/problems/no-such-place"
    )
    assert body["errors"][0]["pointer"] == "/first"
    problem(client.get(f"{DOCUMENTS}99/"), 404, says="no document 99")
    problem(
        client.get(f"{DOCUMENTS}99/file/", headers={"Accept": "application/pdf"}), 404, says="no document 99"
    )
    problem(client.get(DOCUMENTS, headers={"Accept": "text/html"}), 406)
    assert not Document.objects.exists()


def test_a_viewer_asks_for_nothing_and_a_stranger_sees_nothing() -> None:
    batch = make_piece().batch
    problem(
        ask(client_of(Role.VIEWER), batch=batch.label), 403, says="As viewer you may not ask for documents"
    )
    pk = ask(client_of(), batch=batch.label).json()["id"]
    assert is_asked_to_sign_in(ask(stranger(), batch=batch.label))
    for address in ("", f"{pk}/", f"{pk}/file/"):
        assert is_asked_to_sign_in(stranger().get(f"{DOCUMENTS}{address}"))


def test_the_list_costs_the_same_whatever_it_holds(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    client = client_of()
    for _ in range(3):
        ask(client, batch=make_piece().batch.label)
        with django_assert_num_queries(3):
            client.get(DOCUMENTS)
