"""The shop's own list of what can be wrong with a piece: usual class, and how to tell."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, Unpack

from django.db import transaction
from django.db.models import Max

from inventory.access import Deed, require
from inventory.models import DefectKind
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


class KindTaken(Refused):
    """A name stands for one kind of defect, so that a noted defect finds its own."""


class KindValues(TypedDict, total=False):
    """What the owner says of a kind; see the model's fields."""

    family: str
    name: str
    severity: str
    note: str
    source: str
    is_active: bool


@transaction.atomic
def add_defect_kind(*, by: User, at: dt.datetime, **values: Unpack[KindValues]) -> DefectKind:
    """Add a kind at the end of the list. Raises `KindTaken`, and ValidationError by field."""
    require(by, Deed.SET_UP)
    last = DefectKind.objects.aggregate(last=Max("position"))["last"] or 0
    kind = DefectKind(**values, position=last + 1)
    kind.full_clean(validate_unique=False)
    _refuse_taken(kind)
    kind.save(force_insert=True)
    leave_row(who=by, deed="add defect kind", subject=kind, at=at, name=kind.name, severity=kind.severity)
    return kind


@transaction.atomic
def change_defect_kind(
    *, kind: DefectKind, by: User, at: dt.datetime, **values: Unpack[KindValues]
) -> DefectKind:
    """Change a kind, or take it off the list; defects noted before keep their words and class.

    Raises `KindTaken`, and ValidationError by field.
    """
    require(by, Deed.SET_UP)
    stored, changed = changed_row(kind, dict(values))
    if changed:
        _refuse_taken(stored)
        stored.save()
        leave_row(who=by, deed="change defect kind", subject=stored, at=at, changed=changed)
    return stored


def _refuse_taken(kind: DefectKind) -> None:
    other = DefectKind.objects.filter(name__iexact=kind.name).exclude(pk=kind.pk).first()
    if other is not None:
        raise KindTaken(
            f"“{other.name}” is in the list already, under {other.family}. Change that one, or "
            "choose another name.",
            field="name",
        )
