"""Fill in the figures of a draft: many at once, as typed in its unit of record."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import TYPE_CHECKING

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc import length
from inventory.models import MeasurePoint, Spec, SpecCell, SpecPoint, SpecSize
from inventory.models.specs import SpecIsFrozen
from inventory.services.audit import leave_row
from inventory.services.spec_entries import (
    CellFigures,
    Column,
    FiguresNotUnderstood,
    PointEntry,
    PointFigures,
    Reader,
    size_column,
)

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User

JUDGED_BY = ["basis", "asymmetry_limit_nm", "favourable_side", "favourable_limit_nm", "grade_step_nm"]

CellKey = tuple[int, int]
"""Keys of the measure point and of the size."""


class Fill(StrEnum):
    """What to work out from the base size and the grade steps before saving."""

    NOTHING = "nothing"
    EMPTY = "empty"
    ALL = "all"


@transaction.atomic
def set_cells(
    *,
    spec: Spec,
    entries: Mapping[str, PointEntry],
    fill: Fill = Fill.NOTHING,
    by: User,
    at: dt.datetime,
) -> Spec:
    """Set whole rows of a draft, by point code; a size left empty loses its figures. All or nothing.

    A tolerance is taken from the size's own box, else from the row's, else as it was. Raises
    `FiguresNotUnderstood` with a sentence for each wrong box, `SpecIsFrozen` once it has been in force.
    """
    require(by, Deed.SET_UP)
    draft = locked_draft(spec)
    sizes = {size.label: size for size in draft.sizes.order_by("position")}
    points = {point.code: point for point in draft.style.points.filter(is_active=True)}
    before = {
        (cell.spec_point.point_id, cell.size_id): cell
        for cell in SpecCell.objects.filter(spec_point__spec=draft).select_related("spec_point")
    }
    reader = Reader(length.Unit(draft.unit_of_record))
    figures = {}
    for code, entry in entries.items():
        point = points.get(code)
        if point is None:
            known = ", ".join(points)
            reader.refuse(code, "point", f"Style {draft.style.code} measures no point {code!r}, but {known}.")
            continue
        figures[code] = reader.read(point, entry)
        _check_sizes(reader, code, figures[code], sizes)
        _fill_in(reader, code, figures[code], base_size=draft.base_size, sizes=list(sizes), fill=fill)
        _complete_tolerances(reader, point, figures[code], sizes=sizes, before=before)
    if reader.errors:
        raise FiguresNotUnderstood(reader.errors)
    changed = _write(draft, {points[code]: row for code, row in figures.items()}, sizes=sizes, before=before)
    leave_row(who=by, deed="set cells", subject=draft, at=at, points=list(figures), cells_changed=changed)
    return draft


def locked_draft(spec: Spec) -> Spec:
    """The revision as stored, locked for the transaction; raises `SpecIsFrozen` unless a draft."""
    stored = Spec.objects.select_for_update(of=("self",)).select_related("style").get(pk=spec.pk)
    if stored.is_frozen:
        raise SpecIsFrozen(stored)
    return stored


def _check_sizes(reader: Reader, code: str, row: PointFigures, sizes: Mapping[str, SpecSize]) -> None:
    for size in row.cells:
        if size not in sizes:
            known = ", ".join(sizes)
            reader.refuse(code, size_column(size), f"The spec has no size {size!r}, but {known}.")


def _fill_in(
    reader: Reader, code: str, row: PointFigures, *, base_size: str, sizes: list[str], fill: Fill
) -> None:
    """Work out nominals from the base size: its own, plus a step for each place it is away in the run."""
    if fill is Fill.NOTHING or row.step_nm is None or base_size not in sizes:
        return
    base = row.cells.get(base_size)
    if base is None or base.nominal_nm is None:
        sentence = f"There is a grade step, but no figure for the base size {base_size}. Type it first."
        reader.refuse(code, size_column(base_size), sentence)
        return
    here = sizes.index(base_size)
    for place, size in enumerate(sizes):
        cell = row.cells.setdefault(size, CellFigures(None, None, None))
        if cell.nominal_nm is not None and fill is Fill.EMPTY:
            continue
        cell.nominal_nm = base.nominal_nm + (place - here) * row.step_nm
        if cell.nominal_nm <= 0:
            step = length.show_exact(row.step_nm, unit=reader.unit)
            reader.refuse(
                code, size_column(size), f"With the step {step} nothing is left here. Correct the step."
            )


def _complete_tolerances(
    reader: Reader,
    point: MeasurePoint,
    row: PointFigures,
    *,
    sizes: Mapping[str, SpecSize],
    before: Mapping[CellKey, SpecCell],
) -> None:
    for label, cell in row.cells.items():
        if cell.nominal_nm is None or label not in sizes:
            continue
        old = before.get((point.pk, sizes[label].pk))
        cell.minus_nm = _first(cell.minus_nm, row.minus_nm, old.tolerance_minus_nm if old else None)
        cell.plus_nm = _first(cell.plus_nm, row.plus_nm, old.tolerance_plus_nm if old else None)
        for side, found in ((Column.MINUS, cell.minus_nm), (Column.PLUS, cell.plus_nm)):
            if found is None:
                reader.refuse(
                    point.code, side, f"Size {label} has a nominal but no {side} tolerance. Type one."
                )
        whole_nm = 2 * cell.nominal_nm if row.basis == "full" else cell.nominal_nm
        if cell.minus_nm is not None and cell.minus_nm >= whole_nm > 0:
            shown = length.show_exact(cell.nominal_nm, unit=reader.unit)
            reader.refuse(
                point.code,
                Column.MINUS,
                f"It takes all of the nominal {shown} of size {label}. Type a smaller one.",
            )


def _first(*found: int | None) -> int | None:
    return next((length_nm for length_nm in found if length_nm is not None), None)


def _write(
    draft: Spec,
    rows: Mapping[MeasurePoint, PointFigures],
    *,
    sizes: Mapping[str, SpecSize],
    before: Mapping[CellKey, SpecCell],
) -> int:
    """Store the rows; the number of cells that came, went or changed."""
    spec_points = _write_points(draft, rows)
    fresh, altered, gone = [], [], []
    for point, row in rows.items():
        for label, size in sizes.items():
            old = before.get((point.pk, size.pk))
            cell = row.cells.get(label)
            if cell is None or cell.nominal_nm is None:
                if old is not None:
                    gone.append(old.pk)
                continue
            assert cell.minus_nm is not None
            assert cell.plus_nm is not None
            new = SpecCell(
                pk=old.pk if old else None,
                spec_point=spec_points[point.pk],
                size=size,
                nominal_nm=cell.nominal_nm,
                tolerance_minus_nm=cell.minus_nm,
                tolerance_plus_nm=cell.plus_nm,
            )
            if old is None:
                fresh.append(new)
            elif _figures(old) != _figures(new):
                altered.append(new)
    SpecCell.objects.bulk_create(fresh)
    SpecCell.objects.bulk_update(
        altered, ["nominal_nm", "tolerance_minus_nm", "tolerance_plus_nm"], batch_size=200
    )
    SpecCell.objects.filter(pk__in=gone).delete()
    return len(fresh) + len(altered) + len(gone)


def _figures(cell: SpecCell) -> tuple[int, int, int]:
    return cell.nominal_nm, cell.tolerance_minus_nm, cell.tolerance_plus_nm


def _write_points(draft: Spec, rows: Mapping[MeasurePoint, PointFigures]) -> dict[int, SpecPoint]:
    """The draft's row of each point, by the point's key, with how it is judged."""
    stored = {row.point_id: row for row in draft.spec_points.all()}
    fresh: list[SpecPoint] = []
    known: list[SpecPoint] = []
    for point, row in rows.items():
        spec_point = stored.get(point.pk)
        (known if spec_point else fresh).append(
            spec_point := spec_point or SpecPoint(spec=draft, point=point)
        )
        spec_point.basis = row.basis
        spec_point.asymmetry_limit_nm = row.pair_limit_nm
        spec_point.favourable_side = row.favourable_side
        spec_point.favourable_limit_nm = row.favourable_limit_nm
        spec_point.grade_step_nm = row.step_nm
    SpecPoint.objects.bulk_update(known, JUDGED_BY)
    return stored | {row.point_id: row for row in SpecPoint.objects.bulk_create(fresh)}
