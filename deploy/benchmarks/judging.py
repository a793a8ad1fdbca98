"""Judging a million readings against limits and uncertainty, beside a plain numpy expression of the same."""

from __future__ import annotations

import json
import resource
import sys
from statistics import median
from typing import TYPE_CHECKING, Any

import numpy as np

from deploy.benchmarks import folders
from deploy.benchmarks.figures import Figure, spread
from deploy.benchmarks.rounds import RUNS, in_turn
from inventory.calc import conformity

if TYPE_CHECKING:
    from pathlib import Path

    import numpy.typing as npt

    Lengths = npt.NDArray[np.int64]

MM = 1_000_000
MIB_KIB = 1024


def readings(count: int) -> tuple[Lengths, Lengths, Lengths, Lengths]:
    """Values, lower and upper limits and guard bands (nm), each reading with its own."""
    chance = np.random.default_rng(1)
    nominal = chance.integers(200, 450, count) * MM
    tolerance = chance.integers(3, 9, count) * MM
    value = nominal + np.rint(chance.normal(0, 5, count) * 2).astype(np.int64) * MM // 2
    guard = np.ceil(1.645 * chance.integers(500_000, 2_500_000, count)).astype(np.int64)
    return value, nominal - tolerance, nominal + tolerance, guard


def ours(value: Lengths, lower: Lengths, upper: Lengths, guard: Lengths) -> Any:  # Any: an array of codes
    """The function the project judges arrays by."""
    return conformity.decide_many(value, lower, upper, guard)


def floor(value: Lengths, lower: Lengths, upper: Lengths, guard: Lengths) -> Any:  # Any: as above
    """The same three codes as a plain expression, the quickest one found; nothing of the input is checked."""
    beyond = np.maximum(lower - value, value - upper)
    return (beyond > -guard).view(np.int8) + (beyond > guard).view(np.int8)


def measure(place: Path, *, small: bool) -> list[Figure]:
    """Time in one process, in turn; peak memory of a process that does nothing else."""
    count = 10_000 if small else 1_000_000
    arrays = readings(count)
    if not np.array_equal(ours(*arrays), floor(*arrays)):
        raise RuntimeError("decide_many and the plain expression do not agree")
    times, floors = in_turn(lambda: ours(*arrays), lambda: floor(*arrays))
    env = folders.environment(place)
    peaks = {which: [_peak_mib(which, count, env=env) for _ in range(RUNS)] for which in ("ours", "floor")}
    return [
        Figure(
            name="judging",
            words=f"{count:,} readings, each against its own limits and guard band",
            ours=median(times),
            floor=median(floors),
            unit="s",
            runs=RUNS,
            most_ratio=3,
            bound_by="reading four arrays from memory; ours also checks every limit and guard band",
            notes=(f"ours {spread(times, 's')}, floor {spread(floors, 's')} (lowest / median / highest)",),
        ),
        Figure(
            name="judging-memory",
            words=f"peak memory of a process that makes {count:,} readings and judges them",
            ours=median(peaks["ours"]),
            floor=median(peaks["floor"]),
            unit="MiB",
            runs=RUNS,
            most=1024,
            bound_by="the four arrays of 8 bytes a reading, and what made them",
        ),
    ]


def _peak_mib(which: str, count: int, *, env: dict[str, str]) -> float:
    return float(folders.told("-m", "deploy.benchmarks.judging", which, str(count), env=env))


def main(which: str, count: str) -> None:
    """Judge once, and print the highest memory this process had, in MiB."""
    arrays = readings(int(count))
    (ours if which == "ours" else floor)(*arrays)
    print(json.dumps(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MIB_KIB))


if __name__ == "__main__":
    main(*sys.argv[1:])
