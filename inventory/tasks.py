"""Carry out jobs: which function does which kind of work, and what happens to the row around it.

An app registers its work in its own `tasks` module, loaded when the project starts:

    @job("import")
    def carry_out_import(job: Job) -> Json | None: ...

The function gets the row it works for. It may run again after having been cut off at any line, so it writes
its outcome in one transaction, begun with `services.jobs.hold_job`. What it returns becomes `job.result`. It
raises `JobRefused`, or any other refusal with a sentence, for the person who asked.
"""

from __future__ import annotations

import logging
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime

from django.conf import settings
from django.db import OperationalError, connections
from django.utils import timezone

from inventory.calc.errors import CalcError
from inventory.models import Job
from inventory.queries.exchange import EXPORT, MEASUREMENTS
from inventory.services import jobs
from inventory.services.exporting import runs as exporting
from inventory.services.importing import carrying_out
from inventory.services.importing import runs as importing
from inventory.services.jobs import JobLost, Json
from inventory.services.refusals import Refused
from inventory.services.rejudging import REJUDGE, carry_out_rejudging

logger = logging.getLogger(__name__)

Handler = Callable[[Job], Json | None]

CELERY_TASK = "run_job"
LONGEST_RUN_S = 3600.0

_handlers: dict[str, Handler] = {}


def job(kind: str) -> Callable[[Handler], Handler]:
    """Register the decorated function as the one that does this kind of work."""

    def register(handler: Handler) -> Handler:
        known = _handlers.get(kind)
        if known is not None and known.__qualname__ != handler.__qualname__:
            raise RuntimeError(
                f"Two functions claim to do {kind!r} jobs: {known!r} and {handler!r}. Keep one."
            )
        _handlers[kind] = handler
        return handler

    return register


def execute(job_id: int) -> None:
    """Take this job and carry it out; leave quietly when it is gone, over, or in somebody else's hands."""
    taken = jobs.claim_job(job_id, timezone.now())
    if taken is not None:
        carry_out(taken)


def carry_out(taken: Job) -> None:
    """Do the work of a job this process holds, and close the row whatever happens."""
    try:
        _work(taken)
    except JobLost as lost:
        logger.warning("job=%s kind=%s lost: %s", taken.pk, taken.kind, lost)
    except KeyboardInterrupt:
        # Told to stop: the work's transaction is rolled back by now, so another runner may begin it afresh.
        jobs.release_job(taken)
        raise


def nudge(waiting: Job) -> None:
    """Tell a worker that a committed job waits. Without a broker the runner looks by itself.

    A broker that cannot be reached costs time, not work: the sweep sends the job again later.
    """
    if not settings.REDIS_URL:
        return
    from celery import current_app  # noqa: PLC0415 - a tenth of a second, only where there is a broker
    from kombu.exceptions import OperationalError as BrokerUnreachable  # noqa: PLC0415

    try:
        current_app.send_task(CELERY_TASK, [waiting.pk], retry=False)
    except BrokerUnreachable as problem:
        logger.warning("job=%s not announced, the sweep will: %s", waiting.pk, problem)


def sweep(now: datetime) -> int:
    """Announce every job that is ready at `now`, its message lost or its work cut off; return how many."""
    ready = list(Job.objects.ready(now))
    for waiting in ready:
        nudge(waiting)
    return len(ready)


def beat() -> None:
    """Leave a sign of life for `/health/`."""
    settings.HEARTBEAT_FILE.parent.mkdir(parents=True, exist_ok=True)
    settings.HEARTBEAT_FILE.touch()


def _work(taken: Job) -> None:
    handler = _handlers.get(taken.kind)
    if handler is None:
        jobs.fail_job(
            taken, f"This version knows no work called {taken.kind!r}. Update all servers to one version."
        )
        return
    logger.info("job=%s kind=%s attempt=%s begins", taken.pk, taken.kind, taken.attempts)
    try:
        with _lease_kept(taken):
            result = handler(taken)
        if not taken.is_over:
            jobs.finish_job(taken, result)
    except (Refused, CalcError) as refusal:
        jobs.fail_job(taken, str(refusal))
    except JobLost:
        raise
    except OperationalError as problem:
        logger.warning("job=%s kind=%s database trouble: %s", taken.pk, taken.kind, problem)
        jobs.retry_job(taken, "The database did not answer in time.", timezone.now())
    except Exception as problem:  # whatever it was, the row must not stay "running"
        logger.exception("job=%s kind=%s failed", taken.pk, taken.kind)
        jobs.fail_job(
            taken,
            f"The work stopped at something unforeseen ({type(problem).__name__}: {problem}). "
            f"The server's log tells more under job={taken.pk}.",
        )
    logger.info("job=%s kind=%s %s", taken.pk, taken.kind, taken.state)


@contextmanager
def _lease_kept(taken: Job) -> Iterator[None]:
    """Renew the lease beside the work, so that work without progress to report is not taken for dead."""
    over = threading.Event()
    keeper = threading.Thread(target=_renew_until, args=(taken.pk, taken.attempts, over), daemon=True)
    keeper.start()
    try:
        yield
    finally:
        over.set()
        keeper.join()


def _renew_until(job_id: int, attempt: int, over: threading.Event) -> None:
    began = time.monotonic()
    ours = Job(pk=job_id, attempts=attempt)
    try:
        while not over.wait(jobs.LEASE.total_seconds() / 4):
            if time.monotonic() - began > LONGEST_RUN_S:
                # Hung for good, and a thread cannot stop another: end the process; the job is taken again.
                logger.error("job=%s runs for over %s s: ending this process", job_id, LONGEST_RUN_S)
                os._exit(70)
            beat()
            try:
                jobs.renew_lease(ours, timezone.now())
            except JobLost:
                return  # the work itself finds out at its next write
            except OperationalError as problem:
                # On SQLite: the work is inside a long transaction. Nobody else can take the job meanwhile.
                logger.info("job=%s lease not renewed just now: %s", job_id, problem)
    finally:
        connections.close_all()  # this thread's own


job(importing.CHECK)(carrying_out.carry_out_check)
job(importing.STORE)(carrying_out.carry_out_store)
job(EXPORT)(exporting.carry_out_export)
job(MEASUREMENTS)(exporting.carry_out_measurements)
job(REJUDGE)(carry_out_rejudging)
