"""The boxes of a first draft: base nominal, step and tolerance of each point."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.services.spec_entries import CellEntry, PointEntry, Where, said, size_column
from inventory.web.setup.grid import Box, Posted

if TYPE_CHECKING:
    from collections.abc import Iterable

    from inventory.models import MeasurePoint

COLUMNS = ("base", "step", "minus", "plus")


@dataclass(frozen=True, slots=True)
class StartRow:
    """One point of the style with its four boxes, in the order of the columns."""

    point: MeasurePoint
    boxes: tuple[Box, ...]


def start_rows(
    points: Iterable[MeasurePoint],
    *,
    proposed: Mapping[str, PointEntry],
    posted: Posted | None = None,
    errors: Mapping[Where, str] | None = None,
    base_size: str = "",
) -> tuple[StartRow, ...]:
    """The rows with the catalogue's tolerances, or with what was typed and what is wrong with it."""
    wrong = dict(errors or {})

    def box(point: MeasurePoint, place: int, column: str) -> Box:
        name = f"{point.code}.{column}"
        proposal = getattr(proposed.get(point.code), column, "")
        return Box(
            name=name,
            id=f"start-{place}-{column}",
            label=f"{point.code}, {'base size' if column == 'base' else said(column)}",
            value=proposal if posted is None else posted.get(name, ""),
            error=wrong.get((point.code, size_column(base_size) if column == "base" else column), ""),
        )

    return tuple(
        StartRow(point, tuple(box(point, place, column) for column in COLUMNS))
        for place, point in enumerate(points)
    )


def start_entries(points: Iterable[MeasurePoint], posted: Posted, *, base_size: str) -> dict[str, PointEntry]:
    """What was typed, as the drafting service takes it."""
    return {
        point.code: PointEntry(
            step=posted.get(f"{point.code}.step", ""),
            minus=posted.get(f"{point.code}.minus", ""),
            plus=posted.get(f"{point.code}.plus", ""),
            cells={base_size: CellEntry(nominal=posted.get(f"{point.code}.base", ""))},
        )
        for point in points
    }
