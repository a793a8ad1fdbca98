"""Add and change makers."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict, Unpack

from django.db import transaction

from inventory.access import Deed, require
from inventory.models import Maker
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


class MakerCodeTaken(Refused):
    """Two makers cannot share a code: it stands on labels and sheets."""


class MakerValues(TypedDict, total=False):
    """What can be said of a maker; see the model's fields."""

    code: str
    name: str
    country: str
    language: str
    email: str
    notice_window_days: int | None
    window_source: str
    governing_law: str
    note: str
    is_active: bool


@transaction.atomic
def add_maker(*, by: User, at: dt.datetime, **values: Unpack[MakerValues]) -> Maker:
    """Enter a maker. Raises `MakerCodeTaken`, and `ValidationError` for a value its field does not take."""
    require(by, Deed.SET_UP)
    maker = Maker(**values)
    maker.full_clean(validate_unique=False)
    _check_code_is_free(maker)
    maker.save()
    leave_row(who=by, deed="add maker", subject=maker, at=at)
    return maker


@transaction.atomic
def change_maker(*, maker: Maker, by: User, at: dt.datetime, **values: Unpack[MakerValues]) -> Maker:
    """Change what is known of a maker; deliveries keep the notice window they arrived with.

    Raises `MakerCodeTaken`, and `ValidationError` for a value its field does not take.
    """
    require(by, Deed.SET_UP)
    stored, changed = changed_row(maker, dict(values))
    if changed:
        _check_code_is_free(stored)
        stored.save()
        leave_row(who=by, deed="change maker", subject=stored, at=at, changed=changed)
    return stored


def _check_code_is_free(maker: Maker) -> None:
    other = Maker.objects.filter(code__iexact=maker.code).exclude(pk=maker.pk).first()
    if other is not None:
        raise MakerCodeTaken(
            f"Code {maker.code!r} belongs to {other.name}. Type another code, or open that maker.",
            field="code",
        )
