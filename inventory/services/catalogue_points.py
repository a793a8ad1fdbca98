"""The catalogue's defaults: a shop changes them to its own practice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Unpack

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc.length import Unit, show_exact
from inventory.models import CataloguePoint
from inventory.models.points import Sides
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.point_words import PointValues, check_code, check_reading_error
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


class LimitOnSinglePoint(Refused):
    """A point that is there once has no left and right to compare."""


class CatalogueValues(PointValues, total=False):
    """The words of a catalogue point, with the tolerances a new spec starts from."""

    tolerance_minus_nm: int
    tolerance_plus_nm: int
    basis: str
    asymmetry_limit_nm: int | None
    source: str


@transaction.atomic
def change_catalogue_point(
    *, point: CataloguePoint, by: User, at: dt.datetime, **values: Unpack[CatalogueValues]
) -> CataloguePoint:
    """Change a default of the catalogue; styles already made keep theirs.

    Raises `PointCodeTaken`, `PointCodeNotUsable`, `PeopleAgreeTooWell`, `LimitOnSinglePoint`; and
    `ValidationError` for a value its field does not take.
    """
    require(by, Deed.SET_UP)
    stored, changed = changed_row(point, dict(values))
    if changed:
        same = CataloguePoint.objects.filter(group=stored.group, code__iexact=stored.code)
        check_code(stored, same.first())
        check_reading_error(stored)
        if stored.asymmetry_limit_nm is not None and stored.sides != Sides.PAIR:
            raise LimitOnSinglePoint(
                f"Point {stored.code} is single, but has a left-right limit of "
                f"{show_exact(stored.asymmetry_limit_nm, unit=Unit.MM)}. "
                "Empty the limit, or make the point left and right.",
                field="asymmetry_limit_nm",
            )
        stored.save()
        leave_row(who=by, deed="change catalogue point", subject=stored, at=at, changed=changed)
    return stored
