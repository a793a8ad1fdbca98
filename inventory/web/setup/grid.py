"""A spec's figures as boxes on a page: what stands in each, under which name, and what is wrong with it.

The grid is not a Django form: it has a box for each point and size, its rows grow with the style, and what
was typed must come back untouched beside its error. Names carry the point's code and the size's label, so a
page loaded before the sizes changed cannot put a figure under the wrong one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.services.spec_entries import (
    CellEntry,
    Column,
    PointEntry,
    Where,
    said,
    size_column,
)
from inventory.templatetags.figures import typed

if TYPE_CHECKING:
    from inventory.models import MeasurePoint
    from inventory.queries.specs import Cell, SheetRow, SpecSheet

Posted = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Box:
    """One input of the grid."""

    name: str
    id: str
    label: str
    value: str
    error: str

    @property
    def error_id(self) -> str:
        return f"{self.id}-error"


@dataclass(frozen=True, slots=True)
class GridRow:
    """One point: its boxes by column, and those of the sizes in order."""

    point: MeasurePoint
    boxes: Mapping[str, Box]
    sizes: tuple[Box, ...]
    minus_sizes: tuple[Box, ...]
    plus_sizes: tuple[Box, ...]
    tolerance_differs: bool

    @property
    def errors(self) -> list[Box]:
        """The boxes that are wrong."""
        every = (*self.boxes.values(), *self.sizes, *self.minus_sizes, *self.plus_sizes)
        return [box for box in every if box.error]

    @property
    def pairs(self) -> list[tuple[Box, Box]]:
        """Minus and plus of each size."""
        return list(zip(self.minus_sizes, self.plus_sizes, strict=True))


@dataclass(frozen=True, slots=True)
class Grid:
    """All rows of a spec, and the errors that belong to no box on the page."""

    sizes: tuple[str, ...]
    rows: tuple[GridRow, ...]
    others: tuple[str, ...]

    @property
    def errors(self) -> list[Box]:
        """Every wrong box, in the order of the page."""
        return [box for row in self.rows for box in row.errors]

    @property
    def error_count(self) -> int:
        return len(self.errors) + len(self.others)


def grid_of(
    sheet: SpecSheet, *, posted: Posted | None = None, errors: Mapping[Where, str] | None = None
) -> Grid:
    """The grid of a sheet; with `posted`, what was typed stands in the boxes instead of what is stored."""
    left = dict(errors or {})
    rows = tuple(_row(place, row, sheet, posted=posted, errors=left) for place, row in enumerate(sheet.rows))
    others = tuple(f"{code}, {said(column)}: {sentence}" for (code, column), sentence in left.items())
    return Grid(sheet.sizes, rows, others)


def entries_of(sheet: SpecSheet, posted: Posted) -> dict[str, PointEntry]:
    """The rows of the main grid as typed; a point or size that was not on the page stays as it is."""
    unit = sheet.spec.unit_of_record
    return {
        row.point.code: PointEntry(
            **{column.value: posted.get(_name(row.point.code, column), "") for column in Column},
            cells={
                size: CellEntry(
                    nominal=posted.get(_name(row.point.code, size_column(size)), _nominal(cell, unit))
                )
                for size, cell in zip(sheet.sizes, row.cells, strict=True)
            },
        )
        for row in sheet.rows
        if _name(row.point.code, Column.MINUS) in posted
    }


def tolerance_entries_of(sheet: SpecSheet, posted: Posted) -> dict[str, PointEntry]:
    """The rows of the grid of tolerances by size as typed; all else as it is stored."""
    unit = sheet.spec.unit_of_record
    return {
        row.point.code: PointEntry(
            **stored(row, unit),
            cells={
                size: CellEntry(
                    nominal=typed(cell.nominal_nm, unit),
                    minus=posted.get(_name(row.point.code, size_column(size, "minus")), ""),
                    plus=posted.get(_name(row.point.code, size_column(size, "plus")), ""),
                )
                for size, cell in zip(sheet.sizes, row.cells, strict=True)
                if cell is not None
            },
        )
        for row in sheet.rows
        if row.spec_point is not None
    }


def stored(row: SheetRow, unit: str) -> dict[str, str]:
    """What stands in the boxes that hold for all sizes, but the tolerance: as one would type it."""
    judged = row.spec_point
    if judged is None:
        return {"basis": "half", "pair_limit": "", "favourable_side": "", "favourable_limit": "", "step": ""}
    return {
        "basis": judged.basis,
        "pair_limit": _typed_or_empty(judged.asymmetry_limit_nm, unit),
        "favourable_side": judged.favourable_side,
        "favourable_limit": _typed_or_empty(judged.favourable_limit_nm, unit),
        "step": _typed_or_empty(judged.grade_step_nm, unit),
    }


def _row(
    place: int, row: SheetRow, sheet: SpecSheet, *, posted: Posted | None, errors: dict[Where, str]
) -> GridRow:
    unit, code = sheet.spec.unit_of_record, row.point.code
    common = row.common_tolerance
    values = stored(row, unit) | {
        "minus": "" if common is None else typed(common[0], unit),
        "plus": "" if common is None else typed(common[1], unit),
    }

    def box(column: str, value: str, number: str) -> Box:
        name = _name(code, column)
        return Box(
            name=name,
            id=f"box-{place}-{number}",
            label=f"{code}, {said(column)}",
            value=value if posted is None else posted.get(name, value),
            error=errors.pop((code, column), ""),
        )

    def by_size(what: str, attribute: str) -> tuple[Box, ...]:
        return tuple(
            box(
                size_column(size, what),
                "" if cell is None else typed(getattr(cell, attribute), unit),
                f"{what}-{number}",
            )
            for number, (size, cell) in enumerate(zip(sheet.sizes, row.cells, strict=True))
        )

    return GridRow(
        point=row.point,
        boxes={column.value: box(column.value, values[column.value], column.value) for column in Column},
        sizes=by_size("nominal", "nominal_nm"),
        minus_sizes=by_size("minus", "minus_nm"),
        plus_sizes=by_size("plus", "plus_nm"),
        tolerance_differs=row.tolerance_differs,
    )


def _name(code: str, column: str) -> str:
    return f"{code}.{column}"


def _typed_or_empty(nm: int | None, unit: str) -> str:
    return "" if nm is None else typed(nm, unit)


def _nominal(cell: Cell | None, unit: str) -> str:
    return "" if cell is None else typed(cell.nominal_nm, unit)
