"""Importing measured pieces, beside reading the same file and a bare insert of the same reading rows."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from deploy.benchmarks import folders
from deploy.benchmarks.figures import Figure, spread

if TYPE_CHECKING:
    from pathlib import Path


def measure(place: Path, *, small: bool) -> list[Figure]:
    """In a process of its own, with the settings of a shop; five runs of each, in turn."""
    pieces = 100 if small else 10_000
    found = folders.inside("import_runs", str(pieces), env=folders.environment(place / "import"))
    ours = [check + store for check, store in zip(found["check"], found["store"], strict=True)]
    floor = [read + insert for read, insert in zip(found["csv"], found["insert"], strict=True)]
    return [
        Figure(
            name="import",
            words=f"{pieces:,} pieces × 20 readings from CSV: uploaded, checked, judged, stored",
            ours=median(ours),
            floor=median(floor),
            unit="s",
            runs=len(ours),
            most_ratio=6,
            bound_by=(
                "SQLite's insert, where ours has indexes and foreign keys; then Python over every cell "
                "twice, for the report a person sees and again by the store, which trusts nothing"
            ),
            notes=(
                f"ours {spread(ours, 's')}, floor {spread(floor, 's')} (lowest / median / highest)",
                f"upload and check {spread(found['check'], 's')}",
                f"judge and store {spread(found['store'], 's')}",
                f"csv.reader {spread(found['csv'], 's')}, executemany {spread(found['insert'], 's')}",
                f"ours also writes {found['others']:,} pieces, sittings and verdicts; the floor none",
            ),
        )
    ]
