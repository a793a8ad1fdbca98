"""Celery, for a shop with a broker: the same functions the job runner calls, reached by messages.

A message only says "look at job 12". The row decides whether there is anything to do, so a message may be
lost, doubled or late without harm; the sweep sends again what still waits.
"""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop_qc.settings")

app = Celery("shop_qc", broker=os.environ.get("REDIS_URL", "").strip() or "memory://")
app.conf.update(
    task_ignore_result=True,
    broker_connection_retry_on_startup=True,
    # A request that nudges must not hang on a dead broker: without these it would try for six seconds.
    broker_transport_options={
        "socket_connect_timeout": 1,
        "socket_timeout": 5,
        "max_retries": 1,
        "interval_start": 0,
        "interval_step": 0,
        "interval_max": 0,
    },
    worker_hijack_root_logger=False,
    worker_prefetch_multiplier=1,
    worker_max_tasks_per_child=20,  # drawing documents leaves memory behind
    beat_schedule={"sweep": {"task": "sweep", "schedule": 30.0}},
    timezone="UTC",
)


@app.task(name="run_job")
def run_job(job_id: int) -> None:
    """Carry out one job, if it is still to be done."""
    from inventory import tasks  # noqa: PLC0415 - the models exist only once Django is set up

    tasks.execute(job_id)


@app.task(name="sweep")
def sweep() -> None:
    """Announce again whatever is ready, and leave a sign of life."""
    from django.utils import timezone  # noqa: PLC0415

    from inventory import tasks  # noqa: PLC0415

    tasks.beat()
    tasks.sweep(timezone.now())
