"""Set new values on a stored row and say what changed, for the audit row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from django.db import models

RowT = TypeVar("RowT", bound=models.Model)

Changed = dict[str, list[Any]]  # Any: what JSON can hold


def changed_row(row: RowT, values: Mapping[str, object]) -> tuple[RowT, Changed]:
    """The row as it stands in the database with the values set, checked but not yet saved, and what changed.

    The stored row is read again and locked, so a form that was filled in half an hour ago is compared with
    what is there now. Raises Django's `ValidationError` for a value its field does not take.
    """
    manager = type(row)._default_manager  # noqa: SLF001  # Django's documented way to a model's manager
    stored = manager.select_for_update().get(pk=row.pk)
    before = {name: getattr(stored, name) for name in values}
    for name, value in values.items():
        setattr(stored, name, value)
    stored.full_clean(validate_unique=False, validate_constraints=False)
    changed = {
        name: [plain(before[name]), plain(getattr(stored, name))]
        for name in values
        if before[name] != getattr(stored, name)
    }
    return stored, changed


def plain(value: object) -> Any:  # Any: what JSON can hold
    """A value of a field as JSON can hold it: numbers, truth and nothing stay, all else becomes text."""
    return value if value is None or isinstance(value, bool | int) else str(value)
