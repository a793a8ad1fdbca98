"""The points of a style: add, change, put in walk order, retire."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Unpack

from django.db import transaction
from django.db.models import F, Max

from inventory.access import Deed, require
from inventory.models import MeasurePoint, Reading, Spec, SpecPoint, Style
from inventory.models.points import Kind, Sides
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.point_words import PointValues, check_code, check_reading_error
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User

FIXED_ONCE_IN_USE = ("code", "kind", "sides", "informational")
"""A change of these would change what a frozen spec, or a reading already taken, means."""


class PointIsInUse(Refused):
    """A frozen spec or a reading stands on what was to be changed."""


class LastPoint(Refused):
    """A style keeps at least one point to measure."""


class WalkIncomplete(Refused):
    """The walk of the tape names each active point once."""


@transaction.atomic
def add_point(*, style: Style, by: User, at: dt.datetime, **values: Unpack[PointValues]) -> MeasurePoint:
    """Add a point at the end of the style's walk.

    Raises `PointCodeTaken`, `PointCodeNotUsable`, `PeopleAgreeTooWell`; `ValidationError` for a bad value.
    """
    require(by, Deed.SET_UP)
    last = style.points.aggregate(last=Max("position"))["last"] or 0
    point = MeasurePoint(style=style, position=last + 1, **values)
    point.full_clean(validate_unique=False, validate_constraints=False)
    check_code(point, MeasurePoint.objects.filter(style=style, code__iexact=point.code).first())
    check_reading_error(point)
    point.save()
    leave_row(who=by, deed="add point", subject=point, at=at, style=style.code)
    return point


@transaction.atomic
def change_point(
    *, point: MeasurePoint, by: User, at: dt.datetime, **values: Unpack[PointValues]
) -> MeasurePoint:
    """Change the words of a point or its reading error; verdicts given before stay as they are.

    Code, kind, sides and whether it counts are fixed once a spec in force or a reading stands on the point:
    then `PointIsInUse`. Raises otherwise as `add_point`.
    """
    require(by, Deed.SET_UP)
    stored, changed = changed_row(point, dict(values))
    if not changed:
        return stored
    if any(name in changed for name in FIXED_ONCE_IN_USE):
        _check_not_in_use(point, changed)
        check_code(
            stored, MeasurePoint.objects.filter(style=stored.style_id, code__iexact=stored.code).first()
        )
    check_reading_error(stored)
    stored.save()
    leave_row(who=by, deed="change point", subject=stored, at=at, changed=changed)
    return stored


@transaction.atomic
def reorder_points(*, style: Style, codes: Sequence[str], by: User, at: dt.datetime) -> list[MeasurePoint]:
    """Set the walk of the tape: the active points in the order given, retired ones after them.

    Raises `WalkIncomplete` when a code is missing, unknown or there twice.
    """
    require(by, Deed.SET_UP)
    points = list(style.points.select_for_update())
    active = {point.code: point for point in points if point.is_active}
    if sorted(codes) != sorted(active):
        raise WalkIncomplete(
            f"The walk {', '.join(codes)} does not name each of {', '.join(active)} once. "
            "Load the page again."
        )
    before = [point.code for point in points if point.is_active]
    walk = [active[code] for code in codes] + [point for point in points if not point.is_active]
    for position, point in enumerate(walk, start=1):
        point.position = position
    if list(codes) != before:
        MeasurePoint.objects.bulk_update(walk, ["position"])
        _count_change(style)
        leave_row(who=by, deed="reorder points", subject=style, at=at, walk=list(codes), before=before)
    return walk


@transaction.atomic
def move_point(*, point: MeasurePoint, places: int, by: User, at: dt.datetime) -> list[MeasurePoint]:
    """Move one point up (below zero) or down the walk by some places, at most to its end."""
    codes = list(point.style.points.filter(is_active=True).values_list("code", flat=True))
    if point.code not in codes:
        raise WalkIncomplete(f"Point {point.code} is retired and not in the walk. Bring it back first.")
    here = codes.index(point.code)
    codes.insert(min(max(here + places, 0), len(codes) - 1), codes.pop(here))
    return reorder_points(style=point.style, codes=codes, by=by, at=at)


@transaction.atomic
def retire_point(*, point: MeasurePoint, by: User, at: dt.datetime) -> MeasurePoint:
    """Leave this point out of new revisions; what was agreed with it stays. Raises `LastPoint`."""
    require(by, Deed.SET_UP)
    if not point.style.points.filter(is_active=True).exclude(pk=point.pk).exists():
        raise LastPoint(f"{point} is the last point of this style. Add another one before it retires.")
    return _switch(point, is_active=False, deed="retire point", by=by, at=at)


@transaction.atomic
def bring_back_point(*, point: MeasurePoint, by: User, at: dt.datetime) -> MeasurePoint:
    """Let new revisions ask for a retired point again."""
    require(by, Deed.SET_UP)
    return _switch(point, is_active=True, deed="bring back point", by=by, at=at)


def is_in_use(point: MeasurePoint) -> bool:
    """Whether a spec that is or was in force, or a reading, stands on this point."""
    frozen = SpecPoint.objects.filter(point=point).exclude(spec__state=Spec.State.DRAFT)
    return (
        frozen.exists()
        or Reading.objects.filter(inspection__piece__batch__style=point.style_id, point=point).exists()
    )


def _switch(point: MeasurePoint, *, is_active: bool, deed: str, by: User, at: dt.datetime) -> MeasurePoint:
    stored, changed = changed_row(point, {"is_active": is_active})
    if changed:
        stored.save()
        leave_row(who=by, deed=deed, subject=stored, at=at, style=stored.style.code)
    return stored


def _count_change(style: Style) -> None:
    Style.objects.filter(pk=style.pk).update(points_version=F("points_version") + 1)


def _check_not_in_use(point: MeasurePoint, changed: dict[str, list[object]]) -> None:
    if not is_in_use(point):
        return
    name = next(name for name in FIXED_ONCE_IN_USE if name in changed)
    before, after = (_said(name, value) for value in changed[name])
    raise PointIsInUse(
        f"{point.code} has been measured or judged as {before}; to make it {after} would change what that "
        "means. Retire the point and add a new one.",
        field=name,
    )


def _said(name: str, value: object) -> str:
    if name == "informational":
        return "for information only" if value else "counting for the verdict"
    labels = {"kind": dict(Kind.choices), "sides": dict(Sides.choices)}.get(name, {})
    return str(labels.get(str(value), repr(value)))
