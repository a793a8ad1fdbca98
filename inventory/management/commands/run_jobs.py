"""`manage.py run_jobs`: carry out background work from the job table, until told to stop."""

from __future__ import annotations

import logging
import os
import signal
import sys
import time
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import OperationalError, close_old_connections, connections, reset_queries
from django.utils import timezone

from inventory import tasks
from inventory.services import jobs

logger = logging.getLogger(__name__)

LOOK_EVERY_S = 0.2
BEAT_EVERY_S = 2.0
TROUBLE_PAUSE_S = 1.0


class Command(BaseCommand):
    """One runner. Several may run side by side, on one machine or on many with PostgreSQL."""

    help = "Carry out background work from the job table."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="Do what is ready now, then end.")
        parser.add_argument(
            "--recycle-after",
            type=int,
            default=20,
            metavar="N",
            help="Start afresh after N jobs: drawing documents leaves memory behind (default 20; 0: never).",
        )

    def handle(
        self, *, once: bool, recycle_after: int, **_options: Any
    ) -> None:  # Any: Django's own signature
        # A stop is a KeyboardInterrupt for both signals: the job in hand is rolled back and handed back.
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            if not once:
                call_command("clearsessions")
            self._work_on(once=once, recycle_after=recycle_after)
        except KeyboardInterrupt:
            logger.info("job runner stopped")
            return
        if not once:
            _start_afresh()

    def _work_on(self, *, once: bool, recycle_after: int) -> None:
        """Return when nothing is ready (`once`), or after `recycle_after` jobs."""
        done = 0
        beaten_s = 0.0
        while not recycle_after or done < recycle_after or once:
            if time.monotonic() - beaten_s > BEAT_EVERY_S:
                tasks.beat()
                beaten_s = time.monotonic()
            close_old_connections()
            reset_queries()
            try:
                taken = jobs.claim_next_job(timezone.now())
                if taken is not None:
                    tasks.carry_out(taken)
                    done += 1
                    continue
            except OperationalError as problem:
                # A long import holds the write lock, or the database restarts. The table keeps everything.
                logger.warning("job runner waits for the database: %s", problem)
                time.sleep(TROUBLE_PAUSE_S)
                continue
            if once:
                return
            time.sleep(LOOK_EVERY_S)


def _start_afresh() -> None:
    logger.info("job runner starts afresh")
    connections.close_all()
    os.execv(sys.executable, [sys.executable, *sys.orig_argv[1:]])  # noqa: S606 - our own command line again
