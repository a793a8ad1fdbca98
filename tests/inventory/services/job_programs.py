"""Small programs that take jobs, to be run as processes of their own against a real database."""

from __future__ import annotations

import json
import subprocess
import sys
from contextlib import ExitStack

from tests.conftest import ShopFolder

PREAMBLE = """
import json, os, sys, time
import django
django.setup()
from datetime import timedelta
from django.utils import timezone
from inventory import tasks
from inventory.models import Job
from inventory.services import jobs
"""

TAKE_ALL = (
    PREAMBLE
    + """
print("ready", flush=True)
sys.stdin.readline()
mine = []
while (job := jobs.claim_next_job(timezone.now())) is not None:
    mine.append(job.pk)
    jobs.finish_job(job, {"by": os.getpid()})
    time.sleep(0.005)  # as real work would, or one process is through before the next is scheduled
print(json.dumps(mine))
"""
)

DRAW_AND_HANG = (
    PREAMBLE
    + """
jobs.LEASE = timedelta(seconds=1)
@tasks.job("draw")
def draw(job):
    print(job.attempts, flush=True)
    if job.attempts == 1:
        time.sleep(600)
    return {"attempt": job.attempts}
deadline = time.monotonic() + 20
while time.monotonic() < deadline:
    job = jobs.claim_next_job(timezone.now())
    if job is not None:
        tasks.carry_out(job)
        break
    time.sleep(0.05)
"""
)


def program(code: str, folder: ShopFolder) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=folder.environment,
        cwd=folder.root,
    )


def race(racers: list[subprocess.Popen[str]]) -> list[list[int]]:
    """Start the takers at one moment and return the numbers of the jobs that each of them took."""
    with ExitStack() as ended:
        for racer in racers:
            ended.enter_context(racer)
        for racer in racers:
            assert racer.stdout is not None
            assert racer.stdout.readline() == "ready\n"
        for racer in racers:
            assert racer.stdin is not None
            racer.stdin.write("go\n")
            racer.stdin.flush()
        return [json.loads(racer.communicate(timeout=60)[0]) for racer in racers]
