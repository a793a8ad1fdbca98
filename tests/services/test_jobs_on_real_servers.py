"""The job table on PostgreSQL, and Celery workers with a real Redis between."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from tests.conftest import ShopFolder
from tests.inventory.services.job_programs import DRAW_AND_HANG, PREAMBLE, TAKE_ALL, program, race
from tests.services import servers

pytestmark = pytest.mark.services

ROWS = "print([(j.state, j.attempts, j.result) for j in Job.objects.order_by('pk')])"


@pytest.fixture(scope="module")
def postgres_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ShopFolder]:
    with servers.postgresql() as address:
        folder = ShopFolder(tmp_path_factory.mktemp("postgres"), {"DATABASE_URL": address})
        folder.run("manage.py", "migrate", "--verbosity=0")
        yield folder


@pytest.fixture
def empty_table(postgres_folder: ShopFolder) -> ShopFolder:
    postgres_folder.run("-c", PREAMBLE + "Job.objects.all().delete()")
    return postgres_folder


def test_on_postgresql_racing_processes_each_get_their_own_jobs(empty_table: ShopFolder) -> None:
    empty_table.run("-c", PREAMBLE + "for n in range(60): jobs.request_job('draw', {'n': n}, by=None)")
    shares = race([program(TAKE_ALL, empty_table) for _ in range(3)])
    taken = [number for share in shares for number in share]
    assert len(taken) == len(set(taken)) == 60
    assert sum(bool(share) for share in shares) > 1, "They did not race."


def test_on_postgresql_a_job_whose_runner_is_killed_outright_is_done_by_another(
    empty_table: ShopFolder,
) -> None:
    empty_table.run("-c", PREAMBLE + "jobs.request_job('draw', {}, by=None)")
    with program(DRAW_AND_HANG, empty_table) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "1\n"
        first.kill()
    with program(DRAW_AND_HANG, empty_table) as second:
        assert second.communicate(timeout=60)[0] == "2\n"
    assert empty_table.run("-c", PREAMBLE + ROWS).strip() == "[('done', 2, {'attempt': 2})]"


def test_on_postgresql_a_held_job_is_not_taken_however_old_its_lease(empty_table: ShopFolder) -> None:
    code = """
import threading
from django.db import connections, transaction
job = jobs.request_job("draw", {}, by=None)
mine = jobs.claim_job(job.pk, timezone.now() - 10 * jobs.LEASE)
taken = []
def other():
    taken.append(jobs.claim_next_job(timezone.now() + 10 * jobs.LEASE))
    connections.close_all()
with transaction.atomic():
    jobs.hold_job(mine)
    thread = threading.Thread(target=other)
    thread.start()
    thread.join()
print(taken)
"""
    # `claim_next_job` returns at once: it passes a locked row by instead of waiting for it.
    assert empty_table.run("-c", PREAMBLE + code).strip() == "[None]"


def test_on_postgresql_two_who_ask_at_once_get_one_job(empty_table: ShopFolder) -> None:
    code = """
import threading
from django.db import connections
together = threading.Barrier(8)
def ask():
    together.wait()
    for _ in range(5):
        jobs.request_job("draw", {}, by=None, dedupe_key="sheet 7")
    connections.close_all()
threads = [threading.Thread(target=ask) for _ in range(8)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
print(Job.objects.count())
"""
    assert empty_table.run("-c", PREAMBLE + code).strip() == "1"


@contextmanager
def worker(folder: ShopFolder) -> Iterator[subprocess.Popen[str]]:
    command = ["-m", "celery", "-A", "shop_qc", "worker", "--pool=solo", "--loglevel=ERROR"]
    started = subprocess.Popen(
        [sys.executable, *command],
        cwd=folder.root,
        env=folder.environment,
        text=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield started
    finally:
        started.send_signal(signal.SIGTERM)
        try:
            started.wait(timeout=20)
        except subprocess.TimeoutExpired:
            started.kill()
            started.wait()


@pytest.fixture
def folder_with_broker(shop_folder: ShopFolder) -> Iterator[ShopFolder]:
    with servers.redis() as address:
        yield ShopFolder(shop_folder.data, {"REDIS_URL": address})


def soon(holds: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 40
    while not holds():
        assert time.monotonic() < deadline, "It did not come true within 40 seconds."
        time.sleep(0.1)


def test_a_worker_does_what_it_is_nudged_to_and_what_a_sweep_finds(folder_with_broker: ShopFolder) -> None:
    # The worker knows no work called "draw": it says so in the row, which shows that it was there.
    folder_with_broker.run("-c", PREAMBLE + "tasks.nudge(jobs.request_job('draw', {'nudged': 1}, by=None))")
    folder_with_broker.run("-c", PREAMBLE + "jobs.request_job('draw', {'nudged': 0}, by=None)")
    states = "SELECT state, attempts FROM inventory_job ORDER BY id"
    with worker(folder_with_broker):
        soon(lambda: folder_with_broker.rows(states) == [("failed", 1), ("waiting", 0)])
        folder_with_broker.run("-c", "from shop_qc.celery import sweep; sweep.delay()")
        soon(lambda: folder_with_broker.rows(states) == [("failed", 1), ("failed", 1)])
    assert (folder_with_broker.data / "runner-heartbeat").exists()


def test_with_the_broker_down_asking_works_and_returns_soon(shop_folder: ShopFolder) -> None:
    down = ShopFolder(shop_folder.data, {"REDIS_URL": f"redis://127.0.0.1:{servers.free_port()}/0"})
    code = """
for _ in range(2):  # the first loads the library
    job = jobs.request_job("draw", {}, by=None)
    began = time.monotonic()
    tasks.nudge(job)
print(time.monotonic() - began)
"""
    assert float(down.run("-c", PREAMBLE + code)) < 2
    assert down.rows("SELECT state FROM inventory_job") == [("waiting",), ("waiting",)]
