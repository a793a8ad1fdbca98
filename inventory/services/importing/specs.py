"""A spec sheet into a draft: graded (points down, sizes across) or long (one line a point and size).

The figures go through the same service as those typed on the screen, so a check is a draft taken back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from inventory.services.importing.mapping import check_columns
from inventory.services.importing.refusals import MappingIncomplete
from inventory.services.importing.report import Report
from inventory.services.importing.sheets import named_columns
from inventory.services.importing.spec_sheet import SpecRead, read_sheet
from inventory.services.importing.spec_slips import look_for_spec_slips
from inventory.services.refusals import Refused
from inventory.services.spec_cells import Fill, set_cells
from inventory.services.spec_entries import CellEntry, FiguresNotUnderstood, said
from inventory.services.specs import draft_spec

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User
    from inventory.services.importing.files import Table
    from inventory.services.importing.mapping import TableMapping


def check_spec(table: Table, mapping: TableMapping, *, by: User) -> tuple[SpecRead, Report]:
    """The sheet as understood, and everything to be said about it. Raises `MappingIncomplete`."""
    labels = named_columns(table, mapping)
    check_columns(mapping, labels)
    _check_mapping(mapping)
    report = Report()
    sheet = read_sheet(table, mapping, labels, report)
    if sheet.style is None:
        report.error(0, "style", "No style is chosen, or it is gone. Choose the style this sheet is for.")
    elif not sheet.entries and not report.error_count:
        report.error(0, "file", "No line below the header names a point. Is the header row right?")
    if not report.error_count:
        _try(sheet, mapping, report, by=by)
    look_for_spec_slips(sheet, mapping, report)
    cells = sum(len(entry.cells) for entry in sheet.entries.values())
    report.counts = {
        "rows": len(sheet.rows),
        "points": len(sheet.entries),
        "sizes": len(sheet.sizes),
        "cells": cells,
    }
    report.preview = _preview(sheet)
    report.unused = [label for label, column in zip(labels, mapping.columns, strict=True) if not column.role]
    return sheet, report


def store_spec(
    table: Table,
    mapping: TableMapping,
    *,
    by: User,
    at: dt.datetime,
    accepted: Sequence[Sequence[Any]],  # Any: rows and texts of a report
) -> dict[str, Any]:  # Any: what JSON can hold
    """Draft the sheet; call inside the transaction that closes the run. Raises what drafting raises.

    `accepted` are the suspicious cells of the check: another revision in force may raise others since.
    """
    sheet, report = check_spec(table, mapping, by=by)
    if report.error_count or sheet.style is None:
        raise Refused(f"The sheet no longer fits: {report.errors[0][2]} Check it again.")
    if {tuple(cell) for cell in accepted} != set(report.suspicions):
        raise Refused("Other cells look like slips now than at the check. Check the sheet again.")
    return _draft(sheet, mapping, by=by, at=at)


def _check_mapping(mapping: TableMapping) -> None:
    roles = {column.role for column in mapping.columns}
    if "point" not in roles:
        raise MappingIncomplete("No column names the point of measure. Choose it.")
    if mapping.layout == "long" and not {"size", "nominal"} <= roles:
        raise MappingIncomplete("With one figure a line the columns size and nominal have to be chosen too.")
    if mapping.layout == "wide" and not any(role.startswith("size:") for role in roles):
        raise MappingIncomplete("No column holds the figures of a size. Say for each which size it is.")


def _draft(sheet: SpecRead, mapping: TableMapping, *, by: User, at: dt.datetime) -> dict[str, Any]:
    assert sheet.style is not None
    # The sheet's own figures are taken, not worked out from the step: a sheet may leave its step on purpose.
    without_step = {code: replace(entry, step="") for code, entry in sheet.entries.items()}
    spec = draft_spec(
        style=sheet.style,
        unit_of_record=mapping.unit.value,
        size_labels=sheet.sizes,
        base_size=sheet.base_size,
        entries=without_step,
        reason=mapping.target.reason,
        by=by,
        at=at,
    )
    stepped = {code: entry for code, entry in sheet.entries.items() if entry.step}
    if stepped:
        set_cells(spec=spec, entries=stepped, fill=Fill.NOTHING, by=by, at=at)
    return {"spec": spec.pk, "label": str(spec), "points": len(sheet.entries), "sizes": sheet.sizes}


class _TakenBack(Exception):
    """Ends the trial draft."""


def _try(sheet: SpecRead, mapping: TableMapping, report: Report, *, by: User) -> None:
    try:
        with transaction.atomic():
            _draft(sheet, mapping, by=by, at=timezone.now())
            raise _TakenBack
    except _TakenBack:
        pass
    except FiguresNotUnderstood as refusal:
        for (code, column), sentence in refusal.errors.items():
            size = column.partition(":")[2]
            report.error(sheet.row_of(code, size), f"{code}, {said(column)}", sentence)
    except Refused as refusal:
        report.error(0, refusal.field.replace("_", " ") or "sheet", str(refusal))
    except ValidationError as refusal:
        for sentence in refusal.messages:
            report.error(0, "sheet", sentence)


def _preview(sheet: SpecRead) -> dict[str, Any]:  # Any: what JSON can hold
    head = ["Row", "Point", "Basis", "Minus", "Plus", "Left-right", "Step", *sheet.sizes]
    rows = []
    for code, entry in list(sheet.entries.items())[:40]:
        sized = [entry.cells.get(size, CellEntry()).nominal for size in sheet.sizes]
        own = {(cell.minus, cell.plus) for cell in entry.cells.values()} - {("", "")}
        minus, plus = next(iter(own)) if len(own) == 1 else (entry.minus, entry.plus)
        rows.append(
            [str(sheet.rows[code]), code, entry.basis, minus, plus, entry.pair_limit, entry.step, *sized]
        )
    return {"columns": head, "rows": rows, "lengths_from": len(head)}
