"""Progress told past the database: seen while a transaction is open, never from a run that was overtaken."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.db import transaction

from inventory.models import Job
from inventory.models.jobs import JobState
from inventory.services import progress
from inventory.services.jobs import claim_job, request_job
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def nothing_told_yet() -> None:
    cache.clear()


def running_job() -> Job:
    job = claim_job(request_job("import-store", {}, by=None).pk, NOW)
    assert job is not None
    job.done, job.total, job.words = 50, 100, "storing"
    job.save()
    return job


def test_what_is_told_inside_a_transaction_is_shown_before_it_ends() -> None:
    job = running_job()
    seen = []
    with transaction.atomic():
        tell = progress.teller(job)
        for number, row in enumerate(
            progress.counted(
                range(6_000), tell=tell, first=55, last=91, total=6_000, words="storing readings"
            )
        ):
            assert row == number
            if row in (0, 2_500):
                # As another process would ask: by the row as it was committed before.
                seen.append(progress.progress_of(Job.objects.get(pk=job.pk)))
    assert seen == [
        progress.Progress(55, "storing readings"),
        progress.Progress(67, "storing readings: 2000 of 6000"),
    ]


def test_a_run_that_was_overtaken_is_not_shown() -> None:
    job = running_job()
    progress.teller(job)(80, "storing readings")
    Job.objects.filter(pk=job.pk).update(attempts=2, done=10)
    assert progress.progress_of(Job.objects.get(pk=job.pk)) == progress.Progress(10, "storing")


def test_the_row_speaks_when_nothing_was_told_or_all_is_over() -> None:
    job = running_job()
    assert progress.progress_of(job) == progress.Progress(50, "storing")
    progress.teller(job)(80, "storing readings")
    job.state = JobState.DONE
    assert progress.progress_of(job) == progress.Progress(100, "storing")
