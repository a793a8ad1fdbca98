"""The page of a batch: as many SQL statements for many pieces as for few."""

from __future__ import annotations

from typing import TYPE_CHECKING

from deploy.benchmarks import folders
from deploy.benchmarks.figures import Figure, shown

if TYPE_CHECKING:
    from pathlib import Path


def measure(place: Path, *, small: bool) -> list[Figure]:
    """Two batches in one folder, every piece measured and judged."""
    few, many = (5, 20) if small else (50, 500)
    static = place / "static"
    folders.collect_static(static, data=place / "collect")
    env = folders.environment(place / "pages", static=static)
    stock = folders.inside("stock", "--pieces", str(few), str(many), env=env)
    of_few, of_many = folders.inside("statements", *map(str, stock["batches"]), env=env)
    return [
        Figure(
            name="batch-page",
            words=f"SQL statements of the page of a batch of {many} pieces (ours) and of {few} (floor)",
            ours=of_many["statements"],
            floor=of_few["statements"],
            unit="statements",
            runs=1,
            most_ratio=1,
            most=25,
            bound_by="one statement a question the page asks, whatever the number of pieces",
            notes=(
                f"made in {shown(of_many['seconds'], 's')} with {many} pieces (median of 5)",
                f"made in {shown(of_few['seconds'], 's')} with {few} pieces (median of 5)",
            ),
        )
    ]
