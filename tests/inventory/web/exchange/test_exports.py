"""The pages on which exports are asked for: who is offered what, and whose file is whose."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.urls import reverse
from django.utils import timezone

from inventory import tasks
from inventory.models import Job
from inventory.models.people import Role
from inventory.services.exporting.runs import file_of, request_export
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from django.test import Client

    from inventory.models import Batch

pytestmark = pytest.mark.django_db


@pytest.fixture
def batch() -> Batch:
    batch = factories.make_batch()
    sitting = factories.make_inspection(factories.make_piece(batch), finished_at=NOW)
    factories.measure_all(sitting)
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    return batch


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_viewer_takes_out_the_measurements_from_the_page_of_a_batch(
    client: Client, batch: Batch, form: str
) -> None:
    client.force_login(factories.make_user(Role.VIEWER))
    page = client.get(reverse("batch", args=[batch.number])).content.decode()
    assert f'<input type="hidden" name="batch" value="{batch.number}">' in page
    asked = client.post(reverse("measurements-new"), {"form": form, "batch": batch.number})
    job = Job.objects.get()
    assert asked["Location"] == reverse("export", args=[job.pk])
    assert f"Table of measurements of {batch.label}" in client.get(asked["Location"]).content.decode()
    tasks.execute(job.pk)
    page = client.get(asked["Location"]).content.decode()
    assert reverse("export-file", args=[job.pk]) in page
    assert f'href="{reverse("batch", args=[batch.number])}"' in page
    answer = client.get(reverse("export-file", args=[job.pk]))
    day = timezone.localdate().isoformat()
    assert f'filename="measurements-{batch.label}-{day}.{form}"' in answer["Content-Disposition"]
    assert answer.getvalue() == file_of(job).read_bytes()
    assert f"Measurements of {batch.label}" in client.get(reverse("exchange")).content.decode()


def test_what_holds_addresses_stays_with_the_owner(client: Client, batch: Batch) -> None:
    owner = factories.make_user(Role.OWNER)
    whole = request_export(form="json", by=owner, at=NOW)
    tasks.execute(whole.pk)
    client.force_login(factories.make_user(Role.VIEWER))
    for name in ("export", "export-progress", "export-file"):
        assert client.get(reverse(name, args=[whole.pk])).status_code == 403, name
        assert client.get(reverse(name, args=[whole.pk + 1])).status_code == 404, name
    page = client.get(reverse("exchange")).content.decode()
    assert reverse("export", args=[whole.pk]) not in page
    assert reverse("export-new") not in page
    client.force_login(owner)
    assert "Everything, JSON" in client.get(reverse("exchange")).content.decode()


@pytest.mark.parametrize("number", ["99999", "nine", "1" * 40, "٣"])
def test_a_batch_that_is_not_there_is_said(client: Client, batch: Batch, number: str) -> None:
    client.force_login(factories.make_user(Role.VIEWER))
    answer = client.post(reverse("measurements-new"), {"form": "csv", "batch": number})
    assert answer.status_code == 404
    assert not Job.objects.exists()


def test_a_form_that_there_is_not_is_refused_in_words(client: Client) -> None:
    client.force_login(factories.make_user(Role.VIEWER))
    answer = client.post(reverse("measurements-new"), {"form": "pdf"}, follow=True)
    assert "There is no export of the form" in answer.content.decode()
