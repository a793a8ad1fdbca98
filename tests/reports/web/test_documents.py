"""Asking for a document, waiting for it, fetching it: as owner, inspector, viewer and stranger."""

from __future__ import annotations

import pytest
from django.test import Client

from inventory.models import Batch, Job
from inventory.models.people import Role
from inventory.tasks import execute
from reports.models import Document
from tests.factories import make_user

pytestmark = pytest.mark.django_db


def client_of(role: str) -> Client:
    client = Client()
    client.force_login(make_user(role))
    return client


def ask(client: Client, batch: Batch, *, kind: str = "batch-sheets") -> Document:
    answer = client.post(f"/documents/new/?kind={kind}&batch={batch.label}", {"paper": "A4", "first": 1})
    assert answer.status_code == 302
    return Document.objects.latest("id")


@pytest.mark.parametrize("role", [Role.OWNER, Role.INSPECTOR])
def test_a_document_is_asked_for_made_and_fetched(measured_batch: Batch, role: str) -> None:
    client = client_of(role)
    document = ask(client, measured_batch)
    assert b"Being made" in client.get(f"/documents/{document.pk}/").content
    execute(document.job_id)
    assert client.get(f"/documents/{document.pk}/progress/").json()["state"] == "done"
    fetched = client.get(f"/documents/{document.pk}/file/")
    assert fetched["Content-Type"] == "application/pdf"
    assert fetched.getvalue().startswith(b"%PDF-")


def test_asking_twice_while_it_waits_gives_one_document(measured_batch: Batch) -> None:
    client = client_of(Role.INSPECTOR)
    assert ask(client, measured_batch) == ask(client, measured_batch)
    assert Job.objects.count() == 1


def test_making_it_twice_gives_the_same_file(measured_batch: Batch) -> None:
    document = ask(client_of(Role.INSPECTOR), measured_batch)
    execute(document.job_id)
    document.refresh_from_db()
    first = document.digest
    Job.objects.filter(pk=document.job_id).update(state="waiting")
    execute(document.job_id)
    document.refresh_from_db()
    assert document.digest == first


def test_a_viewer_may_look_but_not_ask(measured_batch: Batch) -> None:
    document = ask(client_of(Role.OWNER), measured_batch)
    viewer = client_of(Role.VIEWER)
    assert viewer.get("/documents/").status_code == 200
    assert viewer.get(f"/documents/{document.pk}/").status_code == 200
    assert viewer.post(f"/documents/new/?kind=labels&batch={measured_batch.label}").status_code == 403


@pytest.mark.parametrize("path", ["", "new/", "{pk}/", "{pk}/progress/", "{pk}/file/"])
def test_a_stranger_is_sent_to_the_sign_in(measured_batch: Batch, path: str) -> None:
    document = ask(client_of(Role.OWNER), measured_batch)
    answer = Client().get("/documents/" + path.format(pk=document.pk))
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/")


def test_a_file_that_is_not_made_yet_is_said_so(measured_batch: Batch) -> None:
    client = client_of(Role.OWNER)
    document = ask(client, measured_batch)
    assert client.get(f"/documents/{document.pk}/file/").status_code == 404


@pytest.mark.parametrize(
    "query", ["kind=labels&batch=B9999", "kind=poem&batch=B0001", "", "kind=labels&batch=Bx"]
)
def test_what_cannot_be_printed_is_not_found(query: str) -> None:
    assert client_of(Role.OWNER).get(f"/documents/new/?{query}").status_code == 404


def test_a_label_place_off_the_sheet_is_refused_in_the_form(measured_batch: Batch) -> None:
    answer = client_of(Role.OWNER).post(
        f"/documents/new/?kind=labels&batch={measured_batch.label}", {"paper": "A4", "first": 25}
    )
    assert answer.status_code == 200
    assert b"a sheet has 24" in answer.content


def test_a_list_takes_the_same_number_of_statements_for_any_number_of_documents(
    measured_batch: Batch, django_assert_max_num_queries: pytest.FixtureRequest
) -> None:
    client = client_of(Role.OWNER)
    for kind in ("labels", "worksheets", "batch-sheets"):
        ask(client, measured_batch, kind=kind)
    with django_assert_max_num_queries(8):  # type: ignore[operator]  # a fixture that is a function
        client.get("/documents/")
