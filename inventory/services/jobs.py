"""Ask for background work, and carry it through its states.

Nothing here enqueues: `request_job` writes a row, and whoever asked may nudge a runner once the row is
committed (`inventory.tasks.nudge`). A broker that is down therefore loses nothing.

Two runners never work on one job at once. A take counts `attempts` up, and every later write of that run says
which attempt it belongs to; a run whose lease ran out and was taken over finds the number changed and stops
with `JobLost` before it can write anything.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from inventory.models import Job, User
from inventory.models.jobs import JobQuerySet, JobState
from inventory.services.refusals import Refused

LEASE = timedelta(seconds=60)
MOST_ATTEMPTS = 3
PROGRESS_EVERY_S = 0.25

GAVE_UP = (
    f"Given up after {MOST_ATTEMPTS} attempts: each time the work was cut off before its end (the program "
    "was stopped, or ran out of memory). Nothing more is tried by itself; ask for it again, in smaller parts "
    "if you can."
)

Json = Mapping[str, Any]  # Any: what JSON can hold


class JobRefused(Refused):
    """The work cannot be done as asked; the message says why, to the person who asked."""


class JobLost(Exception):
    """Another runner has taken this job over, or it is already over; the present run must stop."""


@transaction.atomic
def request_job(kind: str, arguments: Json, *, by: User | None, dedupe_key: str = "") -> Job:
    """Write a waiting job and return it; with a `dedupe_key`, an open job of that key is returned instead.

    Who may ask for what is decided by the service that calls this one.
    """
    asked_before = Job.objects.open().filter(dedupe_key=dedupe_key).first() if dedupe_key else None
    if asked_before is not None:
        return asked_before
    job = Job(kind=kind, arguments=dict(arguments), created_by=by, dedupe_key=dedupe_key)
    try:
        with transaction.atomic():
            job.save(force_insert=True)
    except IntegrityError:
        # Two asked at once and the constraint chose: the loser is given the winner's job.
        return Job.objects.open().get(dedupe_key=dedupe_key)
    return job


def claim_next_job(now: datetime) -> Job | None:
    """Take the oldest job that is ready at `now`, on a lease, or return None when there is none.

    A job that was cut off `MOST_ATTEMPTS` times is closed as failed on the way.
    """
    # Asked without a transaction first: on SQLite a transaction takes the write lock, and an idle runner must
    # not take it five times a second.
    while Job.objects.ready(now).exists():
        with transaction.atomic():
            job = _locked(Job.objects.ready(now)).first()
            if job is None:
                return None
            if _take(job, now):
                return job
    return None


def claim_job(job_id: int, now: datetime) -> Job | None:
    """Take this one job if it is ready at `now`; None when it is gone, over, or on somebody's lease."""
    with transaction.atomic():
        job = _locked(Job.objects.ready(now).filter(pk=job_id)).first()
        return job if job is not None and _take(job, now) else None


def renew_lease(job: Job, now: datetime) -> None:
    """Keep the job for another lease from `now`; raises `JobLost` when it is no longer this run's."""
    _write(job, lease_until=now + LEASE)


def report_progress(job: Job, done: int, total: int, words: str = "") -> None:
    """Say how far the work is and renew the lease; raises `JobLost` when the job is no longer this run's.

    Cheap to call for every row: it writes at most every quarter second, and at the end. Called inside a
    transaction it is harmless, but seen by others only once that commits (a second connection would wait for
    our own write lock on SQLite). So: do the slow part outside a transaction, then write in one short one.
    """
    moment = time.monotonic()
    if done < total and words == job.words and moment - job.progress_written_s < PROGRESS_EVERY_S:
        return
    job.progress_written_s = moment
    _write(job, done=done, total=total, words=words[:200], lease_until=timezone.now() + LEASE)


def hold_job(job: Job) -> None:
    """Inside a transaction: make sure the job is still ours, and keep it ours until the transaction ends.

    Call it first in the transaction that writes the job's outcome: a run that was taken over writes nothing.
    """
    if not connection.in_atomic_block:
        raise RuntimeError(
            "hold_job works inside transaction.atomic() only; elsewhere the hold ends at once."
        )
    renew_lease(job, timezone.now())


def finish_job(job: Job, result: Json | None = None) -> None:
    """Close the job as done. Within the transaction that writes the outcome, both happen or neither."""
    _write(
        job,
        state=JobState.DONE,
        result=dict(result or {}),
        error="",
        lease_until=None,
        finished_at=timezone.now(),
    )


def fail_job(job: Job, error: str) -> None:
    """Close the job as failed, with a sentence for the person who asked for it."""
    _write(job, state=JobState.FAILED, error=error, lease_until=None, finished_at=timezone.now())


def retry_job(job: Job, error: str, now: datetime) -> None:
    """Try the job again one lease after `now`, the fault being a passing one; fail it after its last."""
    if job.attempts >= MOST_ATTEMPTS:
        fail_job(job, f"{error} Tried {job.attempts} times.")
        return
    # It keeps its lease, so the next attempt comes when that has run out: a fault that passes needs time to.
    _write(job, error=error, lease_until=now + LEASE)


def release_job(job: Job) -> None:
    """Hand the job back untouched when the runner is told to stop; this attempt does not count."""
    _write(job, state=JobState.WAITING, attempts=job.attempts - 1, lease_until=None)


def _locked(ready: JobQuerySet) -> JobQuerySet:
    # SQLite's transaction already holds the one write lock. PostgreSQL locks the row, and others pass it by.
    return ready.select_for_update(skip_locked=True) if connection.features.has_select_for_update else ready


def _take(job: Job, now: datetime) -> bool:
    if job.attempts >= MOST_ATTEMPTS:
        fail_job(job, GAVE_UP)
        return False
    job.attempts += 1
    job.state = JobState.RUNNING
    job.lease_until = now + LEASE
    job.started_at = now
    job.done, job.total, job.words, job.error = 0, 0, "", ""
    job.save(
        update_fields=["attempts", "state", "lease_until", "started_at", "done", "total", "words", "error"]
    )
    return True


def _write(job: Job, **values: Any) -> None:
    """Write to the row only while this run still has it, and to the object in hand."""
    ours = Job.objects.filter(pk=job.pk, attempts=job.attempts, state=JobState.RUNNING)
    if not ours.update(**values):
        raise JobLost(f"Job {job.pk} is no longer attempt {job.attempts}'s to write.")
    for name, value in values.items():
        setattr(job, name, value)
