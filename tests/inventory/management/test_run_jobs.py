from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from tests.conftest import ShopFolder

# A shop whose only work is "draw": it takes its time from its arguments. `manage.py` with one kind more.
DRAWING_RUNNER = """
import sys, time
import django
django.setup()
from django.core.management import call_command
from inventory import tasks
from inventory.models import Job
from inventory.services import jobs
@tasks.job("draw")
def draw(job):
    time.sleep(job.arguments.get("seconds", 0))
    import os
    return {"pid": os.getpid()}
"""
RUN = DRAWING_RUNNER + "call_command('run_jobs', *sys.argv[1:])"
ASK = (
    DRAWING_RUNNER
    + """
for seconds in sys.argv[1:]:
    jobs.request_job("draw", {"seconds": float(seconds)}, by=None)
"""
)


@contextmanager
def runner(folder: ShopFolder, *options: str) -> Iterator[subprocess.Popen[str]]:
    started = subprocess.Popen(
        [sys.executable, "-c", RUN, *options], cwd=folder.root, env=folder.environment, text=True
    )
    try:
        yield started
    finally:
        started.kill()
        started.wait()


def soon(holds: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 30
    while not holds():
        assert time.monotonic() < deadline, "It did not come true within half a minute."
        time.sleep(0.1)


def states(folder: ShopFolder) -> list[tuple[str, int]]:
    return folder.rows("SELECT state, attempts FROM inventory_job ORDER BY id")


def test_once_does_all_that_is_ready_and_ends(shop_folder: ShopFolder) -> None:
    shop_folder.run("-c", ASK, "0", "0")
    shop_folder.run("-c", RUN, "--once")
    assert states(shop_folder) == [("done", 1), ("done", 1)]


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM])
def test_a_runner_told_to_stop_hands_its_job_back_at_once(
    shop_folder: ShopFolder, stop: signal.Signals
) -> None:
    shop_folder.run("-c", ASK, "600")
    with runner(shop_folder) as running:
        soon(lambda: states(shop_folder) == [("running", 1)])
        asked = time.monotonic()
        running.send_signal(stop)
        assert running.wait(timeout=10) == 0
        assert time.monotonic() - asked < 5
    assert states(shop_folder) == [("waiting", 0)]


def test_a_runner_picks_up_what_is_asked_later_and_starts_afresh_in_the_same_process(
    shop_folder: ShopFolder,
) -> None:
    with runner(shop_folder, "--recycle-after=1") as running:
        beat = shop_folder.data / "runner-heartbeat"
        soon(beat.exists)
        shop_folder.run("-c", ASK, "0")
        soon(lambda: states(shop_folder) == [("done", 1)])
        # After its one job it has executed itself anew: it still works, under the same number.
        shop_folder.run("-c", ASK, "0")
        soon(lambda: states(shop_folder) == [("done", 1), ("done", 1)])
        assert running.poll() is None
    assert shop_folder.rows("SELECT DISTINCT result FROM inventory_job") == [(f'{{"pid": {running.pid}}}',)]
