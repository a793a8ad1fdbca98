"""What an audit row is about, by the name of that row instead of its number in this database.

The file says `["ivy", 3]` for the third revision of a spec, so the trail leads to the same things in any
installation. A subject that no table holds (a job, an upload that was never stored) has no name; the row's
own label still says what it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from inventory.models import AuditRow
from inventory.services.exporting.columns import Column, Line, Ref, RefSpec, Table

Names = dict[int, list[Any]]  # Any: values of key columns


def audit_table(tables: Sequence[Table], *, who: RefSpec) -> Table:
    """The table of the audit trail, its subjects named by the keys of the other tables."""
    of_type = {table.model.__name__.lower(): table for table in tables}
    columns = (
        Column("at", "at", "moment"),
        Column(*who[2][0], "text"),
        Column("deed", "deed", "text"),
        Column("subject_type", "subject_type", "text"),
        Column("subject", "subject_id", "json"),
        Column("subject_label", "subject_label", "text"),
        Column("detail", "detail", "json"),
    )
    return Table(
        "audit",
        AuditRow,
        columns,
        key=(),
        refs=(Ref(who[0], who[1], (who[2][0][0],)),),
        translate=lambda lines: _named(lines, of_type),
    )


def _named(lines: Iterable[Line], of_type: dict[str, Table]) -> Iterator[Line]:
    known: dict[str, Names] = {}
    for at, who, deed, subject_type, number, label, detail in lines:
        table = of_type.get(subject_type)
        subject: list[Any] | None = None
        if table is not None and set(table.paths_of_key) == {"pk"}:
            subject = [number]
        elif table is not None:
            if subject_type not in known:
                known[subject_type] = _names(table)
            subject = known[subject_type].get(number)
        yield at, who, deed, subject_type, subject, label, detail


def _names(table: Table) -> Names:
    manager = table.model._default_manager  # noqa: SLF001  # Django's documented way to a model's manager
    rows = manager.filter(**table.only).order_by().values_list("pk", *table.paths_of_key)
    return {number: key for number, *key in rows.iterator(2_000)}
