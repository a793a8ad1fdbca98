"""A batch of 120: agreed, drawn, measured, decided, and the sentence on the page and on paper."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import BatchDecision, Disposition
from inventory.models.people import Role
from inventory.services.judging import judge_inspection
from reports.models import Document
from reports.pdf.documents import html_of
from reports.services.documents import request_document
from tests import factories
from tests.factories import NOW
from tests.inventory.services.sampling.cast import big_batch

pytestmark = pytest.mark.django_db

AGREED = {
    "kind": "attributes",
    "level": "II",
    "stages": "single",
    "switching": "1989",
    "aql_major": "2.5",
    "aql_minor": "4.0",
    "reason": "mail of 3 March",
}


def _client(role: str) -> Client:
    client = Client()
    client.force_login(factories.make_user(role))
    return client


def test_from_the_agreement_to_the_sentence() -> None:
    owner, inspector = _client(Role.OWNER), _client(Role.INSPECTOR)
    batch = big_batch(120)
    number = batch.number
    owner.post(reverse("maker-sampling-set", args=[batch.delivery.maker.code]), AGREED)
    inspector.post(reverse("sampling-draw", args=[number]), {"seed": "20261125", "kind": "spread"})
    for row in batch.sampling.drawn.select_related("piece__batch__style"):
        sitting = factories.make_inspection(row.piece, finished_at=NOW)
        factories.measure_all(sitting, {("WA", side): 25 for side in "LR"} if row.position <= 3 else {})
        judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    owner.post(reverse("sampling-decide", args=[number]))
    assert BatchDecision.objects.get().outcome == "refused"
    page = owner.get(reverse("batch-sampling", args=[number])).content.decode()
    sentence = "Of 120 pieces 20 were measured and 3 are out beyond doubt; at 95 % confidence"
    assert sentence in page
    assert "measure the 100 pieces left" in page
    batch_page = owner.get(reverse("batch", args=[number])).content.decode()
    assert sentence in batch_page
    assert "not in the sample" in batch_page
    document = request_document(
        kind=Document.Kind.BATCH_SHEETS,
        subject=batch,
        paper="A4",
        by=factories.make_user(Role.OWNER),
        at=NOW,
    )
    assert sentence in next(html_of(document, factories.the_shop()))
    undrawn = batch.pieces.filter(drawn__isnull=True)[0]
    release = {"decision": "release", "piece": [str(undrawn.pk)]}
    refused = inspector.post(reverse("batch-dispositions", args=[number]) + "?shelf=none", release)
    assert "the sample refused its batch: measure it" in refused.content.decode()
    assert not Disposition.objects.exists()
