"""Ours and the floor in turn, so that a machine that slows down meanwhile slows both."""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

RUNS = 5

Work = Callable[[], object]


def in_turn(ours: Work, floor: Work, *, runs: int = RUNS) -> tuple[list[float], list[float]]:
    """Seconds of each run of ours and of the floor; who goes first changes every round."""
    times: tuple[list[float], list[float]] = ([], [])
    for run in range(runs):
        for which in (0, 1) if run % 2 == 0 else (1, 0):
            times[which].append(seconds(floor if which else ours))
    return times


def seconds(work: Work) -> float:
    """How long the work takes; what earlier work left to be collected is collected before."""
    gc.collect()
    began = time.perf_counter()
    work()
    return time.perf_counter() - began
