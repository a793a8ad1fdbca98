"""How far work is that writes everything in one long transaction.

What such a transaction writes to its job's row is seen by nobody until it ends, and on SQLite a second
connection could not write meanwhile. So this progress is told past the database, through the cache that all
processes share. It is for looking at only: nothing is decided by it, and if it is lost the row's own progress
is shown.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Final, TypeVar

from django.core.cache import cache

if TYPE_CHECKING:
    from inventory.models import Job

T = TypeVar("T")

KEPT_S: Final = 600
EVERY_S: Final = 0.25
LEAP_PERCENT: Final = 5
EVERY_ROWS: Final = 2_000

Tell = Callable[[int, str], None]
"""Told per cent of the whole, and the words."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What is shown of work under way."""

    percent: int
    words: str


def teller(job: Job) -> Tell:
    """A function to call inside the transaction; it writes four times a second, or when it leaps ahead."""
    last = 0.0
    shown = -LEAP_PERCENT

    def tell(percent: int, words: str) -> None:
        nonlocal last, shown
        now = time.monotonic()
        if now - last < EVERY_S and percent - shown < LEAP_PERCENT:
            return
        last, shown = now, percent
        cache.set(_key(job), (job.attempts, percent, words), KEPT_S)

    return tell


def progress_of(job: Job) -> Progress:
    """How far a job is: by its row, or as told since."""
    by_row = Progress(job.percent or 0, job.words or "waiting for its turn")
    told = None if job.is_over else cache.get(_key(job))
    if told is None:
        return by_row
    attempt, percent, words = told
    if attempt != job.attempts or percent < by_row.percent:
        return by_row
    return Progress(percent, words)


def counted(rows: Iterable[T], *, tell: Tell, first: int, last: int, total: int, words: str) -> Iterator[T]:
    """The rows, telling on the way how many of `total` went by, as per cent from `first` to `last`."""
    tell(first, words)
    waiting, done = iter(rows), 0
    while some := list(islice(waiting, EVERY_ROWS)):
        yield from some
        done += len(some)
        tell(first + (last - first) * done // max(total, 1), f"{words}: {done} of {total}")


def _key(job: Job) -> str:
    return f"progress-of-job-{job.pk}"
