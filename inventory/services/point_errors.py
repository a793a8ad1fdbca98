"""What is known of a point's reading error from now on: taken from a study, or stated by the owner.

A new row each time; none is changed. Verdicts given before stay as they were given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc.length import Unit, show_exact
from inventory.models import MeasurePoint, PointError, Study
from inventory.queries.own.budgets import budget_of
from inventory.queries.own.knowing import error_source
from inventory.queries.own.study_results import PointResult, results_of
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.calc.gauge_study import Study as Found
    from inventory.calc.uncertainty import ReadingError
    from inventory.models import User


class StudySaysNothing(Refused):
    """The study is not finished, or has no result for a point."""


class ErrorNotPossible(Refused):
    """A stated reading error that cannot be one."""


@transaction.atomic
def use_study(*, study: Study, codes: Sequence[str], by: User, at: dt.datetime) -> list[PointError]:
    """Judge these points by what the study found, from now on.

    Raises `StudySaysNothing` for a study not finished, no point, one without a result, or one already in use.
    """
    require(by, Deed.SET_UP)
    if study.state != Study.State.FINISHED:
        raise StudySaysNothing(
            f"{study.label} is {study.get_state_display().lower()}. Only a finished study can be used."
        )
    results = {result.point.code: result for result in results_of(study)}
    if not codes:
        raise StudySaysNothing("No point is chosen. Tick the points to use from now on.", field="points")
    stored = []
    for code in dict.fromkeys(codes):
        result = results.get(code)
        if result is None or result.chosen is None:
            why = result.refused if result else "It was not read in this study."
            raise StudySaysNothing(f"{study.label} says nothing of {code}. {why}", field="points")
        if result.point.known_error is not None and result.point.known_error.study_id == study.pk:
            raise StudySaysNothing(f"{code} is judged by {study.label} already.", field="points")
        stored.append(_store(_of_study(study, result, result.chosen, by=by, at=at)))
    return stored


@transaction.atomic
def state_error(
    *,
    point: MeasurePoint,
    repeat_sd_nm: int,
    person_sd_nm: int,
    fixed_sd_nm: int,
    reason: str,
    by: User,
    at: dt.datetime,
) -> PointError:
    """State a point's reading error, with a reason; it holds from now on. Raises `ErrorNotPossible`."""
    require(by, Deed.SET_UP)
    if repeat_sd_nm <= 0:
        raise ErrorNotPossible(
            f"The spread of one person's repeats is {show_exact(repeat_sd_nm, unit=Unit.MM)}. No tape "
            "repeats without any; give more than zero.",
            field="repeat_sd_nm",
        )
    for name, nm in (("person_sd_nm", person_sd_nm), ("fixed_sd_nm", fixed_sd_nm)):
        if nm < 0:
            raise ErrorNotPossible(
                f"A spread of {show_exact(nm, unit=Unit.MM)} is below zero. Give zero or more.", field=name
            )
    if not reason.strip():
        raise ErrorNotPossible("Say where these figures come from; they decide verdicts.", field="reason")
    before = _before(point)
    return _store(
        PointError(
            point=point,
            origin=PointError.Origin.STATED,
            repeat_sd_nm=repeat_sd_nm,
            person_sd_nm=person_sd_nm,
            fixed_sd_nm=fixed_sd_nm,
            document={"before": before},
            reason=reason.strip(),
            set_by=by,
            effective_at=at,
        )
    )


def _of_study(study: Study, result: PointResult, found: Found, *, by: User, at: dt.datetime) -> PointError:
    error = found.error
    return PointError(
        point=result.point,
        origin=PointError.Origin.STUDY,
        study=study,
        repeat_sd_nm=error.repeat_sd_nm,
        person_sd_nm=error.person_sd_nm,
        repeat_dof=error.repeat_dof,
        person_dof=error.person_dof,
        placing_sd_nm=error.placing_sd_nm,
        document={"before": _before(result.point), "analysis": _analysis(result, found)},
        set_by=by,
        effective_at=at,
    )


def _store(error: PointError) -> PointError:
    before = error.document["before"]["source"]
    point = MeasurePoint.objects.select_for_update().get(pk=error.point_id)
    point.known_error = error  # not stored yet, but the budget is already the one it gives
    error.document = error.document | {"budget": _budget(point)}
    error.full_clean(validate_constraints=False)
    error.save(force_insert=True)
    point.known_error = error
    point.save()
    leave_row(
        who=error.set_by,
        deed="set reading error",
        subject=point,
        at=error.effective_at,
        source=error_source(error),
        before=before,
        reason=error.reason,
    )
    return error


def _before(point: MeasurePoint) -> dict[str, Any]:  # Any: JSON
    return {"source": error_source(point.known_error), **_plain(point.as_reading_error())}


def _plain(error: ReadingError) -> dict[str, Any]:  # Any: JSON
    parts = ("repeat_sd_nm", "person_sd_nm", "placing_sd_nm", "fixed_sd_nm", "repeat_dof", "person_dof")
    return {name: getattr(error, name) for name in parts}


def _analysis(result: PointResult, found: Found) -> dict[str, Any]:  # Any: JSON
    return {
        "division_nm": result.division_nm,
        "tolerance_nm": result.tolerance_nm,
        "pieces": list(found.table.pieces),
        "people": list(found.table.people),
        "rounds": found.table.rounds,
        "left_out": list(found.table.left_out),
        "pooled": found.anova.pooled,
        "rows": [
            [row.source, row.squares_nm2, row.dof, row.mean_square_nm2, _finite(row.f), _finite(row.p)]
            for row in found.anova.rows
        ],
        "parts": [
            [part.name, part.estimated_nm2, part.used_nm2, part.low_nm, part.high_nm, part.dof]
            for part in found.parts
        ],
        "notes": list(found.notes),
    }


def _budget(point: MeasurePoint) -> dict[str, Any]:  # Any: JSON
    table = budget_of(point)
    single = table.one_reading
    return {
        "size": table.size,
        "parts": [[line.part.name, line.part.u_nm, line.part.source] for line in table.lines],
        "u_nm": single.u_nm,
        "dof": single.dof,
        "k": single.k,
    }


def _finite(value: float | None) -> float | None:
    """JSON knows no endless numbers."""
    return value if value is not None and math.isfinite(value) else None
