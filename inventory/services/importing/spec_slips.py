"""What looks like a slip in a spec sheet: asked about in the report like a measured piece, never altered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Final, cast

from inventory.calc import length
from inventory.calc.errors import CalcError
from inventory.calc.slips import charts
from inventory.models import Spec
from inventory.models.points import Basis
from inventory.queries.plans import plans_of_spec
from inventory.services.spec_entries import CellEntry, Column, said, size_column

if TYPE_CHECKING:
    from inventory.calc.plan import Kind, PointPlan
    from inventory.services.importing.mapping import TableMapping
    from inventory.services.importing.report import Report
    from inventory.services.importing.spec_sheet import SpecRead
    from inventory.services.spec_entries import PointEntry

MANY: Final = 5
"""So many suspicious figures, and a third of all, are no slips of the hand but a wrong choice."""

MOST_SIZES: Final = 40
"""No run is longer; a column of something else was taken for the size."""

Plans = Mapping[str, Mapping[str, "PointPlan"]]


def look_for_spec_slips(sheet: SpecRead, mapping: TableMapping, report: Report) -> None:
    """Note every figure that looks like a slip: beside the other sizes, the stated step, the other points'
    tolerances and the revision in force."""
    if sheet.style is None or not sheet.entries:
        return
    if len(sheet.sizes) > MOST_SIZES:
        report.remarks.append(
            f"{len(sheet.sizes)} sizes are more than a run has: is it the right column? Its figures were not "
            f"compared with each other; that is done for up to {MOST_SIZES} sizes."
        )
        return
    _ask_about_order(sheet, mapping, report)
    kinds = dict(sheet.style.points.filter(is_active=True).values_list("code", "kind"))
    in_force = _in_force(sheet)
    rows = {
        code: _row(sheet, code, entry, mapping.unit, kind=cast("Kind", kinds[code]), in_force=in_force)
        for code, entry in sheet.entries.items()
        if code in kinds
    }
    for code, row in rows.items():
        for odd in charts.look_along(row):
            where = f"{code}, {said(size_column(odd.size))}"
            report.suspicion(sheet.row_of(code, odd.size), where, odd.typed.typed.strip(), odd.question)
        _ask_about_step(sheet, row, mapping.unit, report)
    _ask_about_allowances(sheet, rows, mapping.unit, report, in_force=in_force)
    figures = sum(len(row.figures) for row in rows.values())
    if report.suspicion_count >= MANY and report.suspicion_count * 3 >= figures:
        report.remarks.append(
            f"{report.suspicion_count} cells look like slips, of {figures} figures. Are unit, columns and "
            "style right?"
        )


def _in_force(sheet: SpecRead) -> Plans:
    """The plans of the revision in force by size as the sheet writes it; empty where there is none."""
    spec = Spec.objects.filter(style=sheet.style, state=Spec.State.IN_FORCE).first()
    plans = plans_of_spec(spec).by_size if spec is not None else {}
    return {label.casefold(): of_size for label, of_size in plans.items()}


def _row(
    sheet: SpecRead, code: str, entry: PointEntry, unit: length.Unit, *, kind: Kind, in_force: Plans
) -> charts.ChartRow:
    places = charts.places_of(sheet.sizes)
    figures = []
    for size in sorted(sheet.sizes, key=places.__getitem__):
        typed = _parsed(entry.cells.get(size, CellEntry()).nominal, unit)
        if typed is not None and typed.nm > 0:
            before = in_force.get(size.casefold(), {}).get(code)
            figures.append(charts.Figure(size, typed, before.nominal_nm if before else None))
    step = _parsed(entry.step, unit)
    return charts.ChartRow(
        code, kind, figures, [places[figure.size] for figure in figures], step.nm if step else None
    )


def _parsed(typed: str, unit: length.Unit) -> length.Parsed | None:
    """The length of a text; None for an empty one, and for one that is an error already."""
    if not typed.strip():
        return None
    try:
        return length.parse_signed(typed, unit=unit)
    except CalcError:
        return None


def _ask_about_order(sheet: SpecRead, mapping: TableMapping, report: Report) -> None:
    size, question = charts.question_of_order(sheet.sizes)
    if question:
        rows = [row for (_, of_size), row in sheet.size_rows.items() if of_size == size]
        report.suspicion(min(rows, default=mapping.first_data_row), f"size {size}", size, question)


def _ask_about_step(sheet: SpecRead, row: charts.ChartRow, unit: length.Unit, report: Report) -> None:
    typed = sheet.entries[row.code].step
    stated = _parsed(typed, unit)
    if stated is not None and (question := charts.odd_step(row, stated)):
        report.suspicion(sheet.row_of(row.code), f"{row.code}, {said(Column.STEP)}", typed.strip(), question)


_Told = tuple[int, str, str, str]
_Before = Callable[["PointPlan"], int | None]
_SIDES: Final[Mapping[str, _Before]] = {
    Column.MINUS: lambda plan: plan.minus_nm,
    Column.PLUS: lambda plan: plan.plus_nm,
    Column.PAIR_LIMIT: lambda plan: plan.pair_limit.limit_nm if plan.pair_limit else None,
}


def _ask_about_allowances(
    sheet: SpecRead,
    rows: Mapping[str, charts.ChartRow],
    unit: length.Unit,
    report: Report,
    *,
    in_force: Plans,
) -> None:
    told: dict[_Told, str] = {}
    for column, before in _SIDES.items():
        allowances = [
            one
            for row in rows.values()
            for one in _allowances(sheet, row, unit, column=column, before=before, in_force=in_force)
        ]
        for one, question in charts.odd_allowances(allowances):
            key = (sheet.row_of(one.code, one.size), one.code, one.typed.typed.strip(), question)
            name = said(size_column(one.size, column) if one.size else column)
            # The same figure for minus and plus is one cell of many sheets, and one question.
            told[key] = "tolerance" if key in told else name
    for (row_number, code, typed, question), name in told.items():
        report.suspicion(row_number, f"{code}, {name}", typed, question)


def _allowances(
    sheet: SpecRead,
    row: charts.ChartRow,
    unit: length.Unit,
    *,
    column: str,
    before: _Before,
    in_force: Plans,
) -> Iterator[charts.Allowance]:
    """The row's own figure of a column, and each other one that a size has for itself, once."""
    entry = sheet.entries[row.code]
    share = 2 if entry.basis == Basis.FULL and row.kind == "half" and column != Column.PAIR_LIMIT else 1
    nominals = [figure.nm for figure in row.figures]
    seen = set()
    for size, typed in (("", getattr(entry, column)), *_of_sizes(entry, column)):
        parsed = _parsed(typed, unit)
        if parsed is None or parsed.nm in seen:
            continue
        seen.add(parsed.nm)
        plan = _plan_before(in_force, row.code, size, basis=entry.basis or Basis.HALF)
        yield charts.Allowance(
            row.code,
            size,
            parsed,
            min(nominals, default=None),
            share,
            before(plan) if plan is not None else None,
        )


def _of_sizes(entry: PointEntry, column: str) -> Iterator[tuple[str, str]]:
    if column != Column.PAIR_LIMIT:
        yield from ((size, getattr(cell, column)) for size, cell in entry.cells.items())


def _plan_before(in_force: Plans, code: str, size: str, *, basis: str) -> PointPlan | None:
    """The plan of a point in that size, or in any, if its tolerance is stated for the same."""
    sizes = [in_force.get(size.casefold(), {})] if size else in_force.values()
    plan = next((of_size[code] for of_size in sizes if code in of_size), None)
    return plan if plan is not None and plan.basis == basis else None
