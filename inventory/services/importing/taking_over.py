"""The choices made for an earlier file, taken over for one with the same columns.

Whoever corrects a file and uploads it again has said already what its columns mean and where it goes. If the
earlier file was stored, this one is the next delivery: then its order and arrival are asked for anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from inventory.models import ImportRun
from inventory.services.importing.mapping import TableMapping
from inventory.services.importing.sheets import named_columns

if TYPE_CHECKING:
    from inventory.models import User
    from inventory.services.importing.files import Table

LOOK_BACK: Final = 20
"""Of so many of a person's latest imports the newest with the same columns is taken."""


@dataclass(frozen=True, slots=True)
class Taken:
    """The choices, the sheet they are about, and the import they come from."""

    mapping: TableMapping
    table: Table
    run: ImportRun


def choices_before(
    table: Table, proposal: TableMapping, *, read: Callable[[str], Table], kind: str, by: User
) -> Taken | None:
    """What the person chose for their newest file of the same columns; None when there was none.

    `read` gives another sheet of the file by its name.
    """
    earlier = ImportRun.objects.filter(kind=kind, created_by=by).exclude(state=ImportRun.State.UPLOADED)
    for run in earlier.order_by("-pk")[:LOOK_BACK]:
        labels = run.report.get("labels")
        kept = TableMapping.from_json(run.mapping)
        if not labels or len(labels) != len(kept.columns):
            continue
        other = kept.sheet != table.sheet and kept.sheet in table.sheets
        of_sheet = read(kept.sheet) if other else table
        here = replace(kept, sheet=of_sheet.sheet)
        there = replace(here, header_row=proposal.header_row, header_rows=proposal.header_rows)
        for mapping in (here, there):
            if named_columns(of_sheet, mapping) == labels:
                return Taken(_for_another_file(mapping, run), of_sheet, run)
    return None


def who_before(by: User) -> dict[str, str]:
    """Whom the person said the names of their latest files mean: user names, empty for nobody here."""
    latest = ImportRun.objects.filter(kind=ImportRun.Kind.PIECES, created_by=by).order_by("-pk")[:LOOK_BACK]
    said: dict[str, str] = {}
    for run in latest:
        said = {**run.report.get("who", {}), **said}
    return said


def _for_another_file(mapping: TableMapping, run: ImportRun) -> TableMapping:
    if run.state != ImportRun.State.STORED:
        return mapping
    return replace(mapping, target=replace(mapping.target, into="", order="", arrived_on="", reason=""))
