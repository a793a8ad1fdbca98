"""The audit row that every write leaves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from inventory.models import AuditRow

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from django.db import models

    from inventory.models import User


def leave_row(
    *, who: User | None, deed: str, subject: models.Model, at: dt.datetime, **detail: Any
) -> AuditRow:  # Any: whatever JSON can hold
    """Note who did what to which record; call inside the deed's own transaction."""
    return AuditRow.objects.create(
        at=at,
        who=who,
        deed=deed,
        subject_type=type(subject).__name__.lower(),
        subject_id=subject.pk,
        subject_label=str(subject)[:120],
        detail=detail,
    )


def leave_rows(
    *,
    who: User | None,
    deed: str,
    subjects: Iterable[tuple[models.Model, dict[str, Any]]],  # Any: whatever JSON can hold
    at: dt.datetime,
) -> None:
    """As `leave_row` for many records at once, each with its own detail; one statement a few hundred rows."""
    AuditRow.objects.bulk_create(
        AuditRow(
            at=at,
            who=who,
            deed=deed,
            subject_type=type(subject).__name__.lower(),
            subject_id=subject.pk,
            subject_label=str(subject)[:120],
            detail=detail,
        )
        for subject, detail in subjects
    )
