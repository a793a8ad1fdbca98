"""The check garment: set one up, begin its baseline anew, retire it; open and finish a sitting with it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc.drift.individuals import MIN_BASELINE
from inventory.models import CheckGarment, CheckSitting, Shop
from inventory.queries.own.places import place_of_sitting
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from inventory.models import Instrument, MeasurePoint, Style, User

MOST_BASELINE: Final = 50
MOST_POINTS: Final = 12
_CODE: Final = re.compile(r"[A-Za-z0-9_-]{1,20}")


class CannotKeepGarment(Refused):
    """What was given is no check garment: no point to read, too short a baseline, a code in use."""


class SittingNotRead(Refused):
    """A sitting is finished when everything was read."""


@transaction.atomic
def set_up_check_garment(
    *,
    code: str,
    style: Style,
    points: Sequence[MeasurePoint],
    by: User,
    at: dt.datetime,
    size_label: str = "",
    baseline_sittings: int = 8,
    kept_where: str = "",
    note: str = "",
) -> CheckGarment:
    """Keep a piece as check garment; its first sittings are its baseline. Raises `CannotKeepGarment`."""
    require(by, Deed.SET_UP)
    code = code.strip()
    _refuse(code, style, points, baseline_sittings)
    garment = CheckGarment(
        code=code,
        style=style,
        size_label=size_label.strip(),
        baseline_sittings=baseline_sittings,
        baseline_from=at,
        kept_where=kept_where.strip(),
        note=note.strip(),
        since=at.date(),
    )
    garment.full_clean()
    garment.save()
    garment.points.set(points)
    codes = sorted(point.code for point in points)
    leave_row(who=by, deed="set up check garment", subject=garment, at=at, points=codes)
    return garment


@transaction.atomic
def begin_baseline_anew(*, garment: CheckGarment, reason: str, by: User, at: dt.datetime) -> CheckGarment:
    """Let only sittings from now on count: after a repair, a new tape, or other hands. Old ones are kept.

    Raises `CannotKeepGarment` without a reason.
    """
    require(by, Deed.SET_UP)
    if not reason.strip():
        raise CannotKeepGarment(
            "Say why the baseline begins anew, such as 'new tape T4'. Nothing was changed.", field="reason"
        )
    garment.baseline_from = at
    garment.save(update_fields=["baseline_from"])
    leave_row(who=by, deed="begin baseline anew", subject=garment, at=at, reason=reason.strip()[:200])
    return garment


@transaction.atomic
def retire_check_garment(*, garment: CheckGarment, by: User, at: dt.datetime) -> CheckGarment:
    """Measure it no more; what it said stays."""
    require(by, Deed.SET_UP)
    garment.retired_on = at.date()
    garment.save(update_fields=["retired_on"])
    leave_row(who=by, deed="retire check garment", subject=garment, at=at)
    return garment


@transaction.atomic
def open_check_sitting(
    *, garment: CheckGarment, by: User, at: dt.datetime, instrument: Instrument | None = None
) -> CheckSitting:
    """The person's open sitting with the garment, or a new one. Raises `CannotKeepGarment` when retired."""
    require(by, Deed.MEASURE)
    held = CheckGarment.objects.select_for_update().get(pk=garment.pk)
    if held.retired_on is not None:
        raise CannotKeepGarment(f"{held} is retired since {held.retired_on}. Use another one.")
    waiting = held.sittings.filter(opened_by=by, finished_at=None).first()
    if waiting is not None:
        return waiting
    sitting = CheckSitting.objects.create(
        garment=held,
        unit=Shop.objects.current().display_unit,
        instrument=instrument,
        opened_by=by,
        opened_at=at,
    )
    leave_row(who=by, deed="open check sitting", subject=sitting, at=at)
    return sitting


@transaction.atomic
def finish_check_sitting(*, sitting: CheckSitting, by: User, at: dt.datetime) -> CheckSitting:
    """Close a sitting, so that it counts. Raises `SittingNotRead` while something is still to read."""
    require(by, Deed.MEASURE)
    held = CheckSitting.objects.select_for_update().select_related("garment__style").get(pk=sitting.pk)
    if held.finished_at is not None:
        return held
    left = place_of_sitting(held).left
    if left:
        words = ", ".join(f"{step.point.code} {step.side}" for step in left)
        raise SittingNotRead(f"Still to read on {held.garment}: {words}. Read them first.")
    held.finished_at = at
    held.save(update_fields=["finished_at"])
    leave_row(who=by, deed="finish check sitting", subject=held, at=at)
    return held


def _refuse(code: str, style: Style, points: Sequence[Any], baseline: int) -> None:  # Any: points
    if not _CODE.fullmatch(code):
        raise CannotKeepGarment(
            f"Code {code!r} does not do. Use up to 20 letters, figures and hyphens, such as KEEP-1.",
            field="code",
        )
    if CheckGarment.objects.filter(code__iexact=code).exists():
        raise CannotKeepGarment(f"Code {code!r} is on another check garment. Choose another.", field="code")
    if not 1 <= len(points) <= MOST_POINTS:
        raise CannotKeepGarment(
            f"{len(points)} points were chosen. Choose 1 to {MOST_POINTS} that decide verdicts.",
            field="points",
        )
    strange = [point.code for point in points if point.style_id != style.pk]
    if strange:
        raise CannotKeepGarment(
            f"{', '.join(strange)} belong to another style than {style}. Choose points of this style.",
            field="points",
        )
    if not MIN_BASELINE <= baseline <= MOST_BASELINE:
        raise CannotKeepGarment(
            f"A baseline of {baseline} sittings does not do. Take {MIN_BASELINE} to {MOST_BASELINE}.",
            field="baseline_sittings",
        )
