"""Inspection sheets as their job makes them, beside WeasyPrint alone on the same final HTML."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING, Any

from deploy.benchmarks import folders
from deploy.benchmarks.figures import Figure, spread
from deploy.benchmarks.rounds import RUNS

if TYPE_CHECKING:
    from pathlib import Path

Told = list[dict[str, Any]]  # Any: what JSON can hold


def measure(place: Path, *, small: bool) -> list[Figure]:
    """One sheet five times, a batch of 500 once: that takes minutes. One sheet is made before."""
    pieces = 3 if small else 500
    env = folders.environment(place / "sheets")
    stock = folders.inside("stock", "--pieces", str(pieces), env=env)
    batch = str(stock["batches"][0])
    return [
        _figure(
            place,
            env,
            "piece-sheet",
            batch,
            name="sheet-1",
            words="the inspection sheet of one piece",
            runs=1 if small else RUNS,
        ),
        _figure(
            place,
            env,
            "batch-sheets",
            batch,
            name=f"sheets-{pieces}",
            words=f"the summary of a batch and the sheets of its {pieces} pieces, one PDF",
            runs=1,
        ),
    ]


def _figure(
    place: Path, env: dict[str, str], kind: str, batch: str, *, name: str, words: str, runs: int
) -> Figure:
    html = place / f"html-{kind}"
    written = folders.inside("sheet_runs", "write", kind, batch, str(html), env=env)
    ours: Told = []
    floor: Told = []
    for run in range(runs):
        for ours_now in (True, False) if run % 2 == 0 else (False, True):
            if ours_now:
                ours.append(folders.inside("sheet_runs", "make", kind, batch, env=env))
            else:
                bare = ("-m", "deploy.benchmarks.bare_sheets", str(html), str(written["stretch"]))
                floor.append(folders.told(*bare, env=env))
    if ours[0]["pages"] != floor[0]["pages"]:
        raise RuntimeError(f"{name}: ours has {ours[0]['pages']} pages, the floor {floor[0]['pages']}")
    peaks = [max(told["peak_mib"] for told in side) for side in (ours, floor)]
    times = [[told["seconds"] for told in side] for side in (ours, floor)]
    first = [median(told["first"] for told in side) for side in (ours, floor)]
    return Figure(
        name=name,
        words=words,
        ours=median(times[0]),
        floor=median(times[1]),
        unit="s",
        runs=runs,
        most_ratio=1.2,
        bound_by="WeasyPrint's layout; a long document of ours is drawn on every core, the floor on one; "
        "ours adds the queries, the HTML, the joining and the keeping",
        notes=(
            f"ours {spread(times[0], 's')}, floor {spread(times[1], 's')} (lowest / median / highest)",
            f"in fresh processes; the first sheet of one: ours {first[0]:.2f} s, floor {first[1]:.2f} s",
            f"{ours[0]['pages']} pages; peak memory ours {peaks[0]:.0f} MiB, floor {peaks[1]:.0f} MiB",
        ),
    )
