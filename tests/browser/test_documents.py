"""The documents' screens in a real browser: accessible in every width and light; the bar moves by itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inventory.models import User
from inventory.models.people import Role
from inventory.tasks import execute
from reports.models import Document
from reports.services.documents import request_document
from tests.browser.seeing import faults_in_every_look
from tests.factories import NOW, make_batch, make_piece, make_user

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SignIn = Callable[[User], "Page"]


def asked(owner: User, kind: Document.Kind) -> Document:
    batch = make_batch()
    make_piece(batch)
    return request_document(kind=kind.value, subject=batch, paper="A4", by=owner, at=NOW)


def test_the_screens_are_accessible_in_every_width_and_light(
    sign_in: SignIn, live_server: LiveServer
) -> None:
    owner = make_user(Role.OWNER)
    page = sign_in(owner)
    faults = {}
    empty = reverse("documents")
    page.goto(live_server.url + empty)
    faults["none yet"] = faults_in_every_look(page)
    made, waiting = asked(owner, Document.Kind.LABELS), asked(owner, Document.Kind.WORKSHEETS)
    execute(made.job_id)
    assert waiting.batch is not None
    for address in (
        empty,
        reverse("document", args=[made.pk]),
        reverse("document", args=[waiting.pk]),
        f"{reverse('document-new')}?kind=labels&batch={waiting.batch.label}",
    ):
        page.goto(live_server.url + address)
        faults[address] = faults_in_every_look(page)
    assert {where: found for where, found in faults.items() if found} == {}


def test_a_person_asks_for_labels_and_sees_them_made(sign_in: SignIn, live_server: LiveServer) -> None:
    batch = make_batch()
    make_piece(batch)
    page = sign_in(make_user(Role.INSPECTOR))
    page.goto(f"{live_server.url}{reverse('document-new')}?kind=labels&batch={batch.label}")
    page.get_by_role("button", name="Make the document").click()
    expect(page.get_by_text("Being made")).to_be_visible()
    execute(Document.objects.get().job_id)
    expect(page.get_by_role("link", name="Open the PDF")).to_be_visible()
