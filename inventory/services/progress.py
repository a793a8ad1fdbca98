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
from typing import TYPE_CHECKING, Final, TypeVar

from django.core.cache import cache

if TYPE_CHECKING:
    from inventory.models import Job

T = TypeVar("T")

KEPT_S: Final = 600
EVERY_S: Final = 0.25
EVERY_ROWS: Final = 2_000

Tell = Callable[[int, str], None]
"""Told per cent of the whole, and the words."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What is shown of work under way."""

    percent: int
    words: str


def teller(job: Job) -> Tell:
    """A function to call inside the transaction; it writes at most four times a second."""
    last = 0.0
    said = ""

    def tell(percent: int, words: str) -> None:
        nonlocal last, said
        now = time.monotonic()
        if words == said and now - last < EVERY_S:
            return
        last, said = now, words
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
    for number, row in enumerate(rows, start=1):
        if number % EVERY_ROWS == 0:
            tell(first + (last - first) * number // max(total, 1), f"{words}: {number} of {total}")
        yield row


def _key(job: Job) -> str:
    return f"progress-of-job-{job.pk}"
