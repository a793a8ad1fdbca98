"""What a study found, point by point. Its figures are asked for only once it is finished.

Left and right of a piece are counted as two pieces, "P000012 L" and "P000012 R": a point has one reading
error for both its sides, the hands and the tape are the same, and twice the pieces say twice as much of it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from inventory.calc import gauge_study
from inventory.calc.errors import CalcError
from inventory.calc.length import NM_PER_MM, Unit, nm_per_unit
from inventory.models import Spec, StudyReading
from inventory.queries.plans import plans_of_spec

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.calc.plan import PointPlan
    from inventory.models import MeasurePoint, Study

PARTS_OF_AN_INCH = 16
"""Where no tape was named: read to the millimetre, or to the sixteenth of an inch."""


@dataclass(frozen=True, slots=True)
class PointResult:
    """What the study says of one point; `refused` says why it says nothing.

    `chosen` is what counts; `kept` and `pooled` are the analyses with and without piece × person.
    """

    point: MeasurePoint
    readings: tuple[StudyReading, ...]
    division_nm: int
    tolerance_nm: int | None
    chosen: gauge_study.Study | None = None
    kept: gauge_study.Study | None = None
    pooled: gauge_study.Study | None = None
    outlying: tuple[tuple[gauge_study.Outlying, StudyReading], ...] = ()
    refused: str = ""


def results_of(study: Study) -> tuple[PointResult, ...]:
    """Every point of a study, analysed from the readings in effect; a constant number of statements."""
    by_point: dict[int, list[StudyReading]] = defaultdict(list)
    for reading in readings_of(study):
        by_point[reading.point_id].append(reading)
    tolerances = _tolerances(study, by_point.values())
    return tuple(
        _result(point, by_point[point.pk], study=study, tolerance_nm=tolerances.get(point.code))
        for point in study.points.select_related("known_error__study").order_by("position", "pk")
    )


def doubtful_of(study: Study) -> list[tuple[MeasurePoint, StudyReading]]:
    """Readings that lie too far from the others, of a study that is read in full but not finished yet.

    To be looked at again by whoever took them; how far off they are is not told.
    """
    return [(result.point, reading) for result in results_of(study) for _, reading in result.outlying]


def readings_of(study: Study) -> list[StudyReading]:
    """The readings in effect, with whose they are and of what."""
    return list(
        StudyReading.objects.filter(turn__study=study, corrected_by=None)
        .select_related("turn__study_person__person", "turn__study_piece__piece", "instrument", "point")
        .order_by("turn__study_piece__position", "side", "turn__study_person__position", "turn__round")
    )


def _result(
    point: MeasurePoint, readings: list[StudyReading], *, study: Study, tolerance_nm: int | None
) -> PointResult:
    division_nm = _division_nm(readings, study)
    plain = [as_plain(reading) for reading in readings]
    bare = PointResult(point, tuple(readings), division_nm, tolerance_nm)
    try:
        chosen, kept, pooled = (
            gauge_study.analyse(plain, division_nm=division_nm, tolerance_nm=tolerance_nm, **how)
            for how in ({}, {"pool_above": 1.0}, {"pool_above": 0.0})
        )
    except CalcError as refusal:
        return replace(bare, refused=str(refusal))
    rows = {_key(one): reading for one, reading in zip(plain, readings, strict=True)}
    named = gauge_study.outlying(chosen.table)
    return replace(
        bare,
        chosen=chosen,
        kept=kept,
        pooled=pooled,
        outlying=tuple((one, rows[one.piece, one.person, one.round]) for one in named),
    )


def as_plain(reading: StudyReading) -> gauge_study.StudyReading:
    """A stored reading as the calculations take it; a person goes by the name nobody else has."""
    turn = reading.turn
    side = "" if reading.side == "S" else f" {reading.side}"
    return gauge_study.StudyReading(
        piece=f"{turn.study_piece.piece.label}{side}",
        person=turn.study_person.person.username,
        round=turn.round,
        value_nm=reading.length_nm,
    )


def _key(reading: gauge_study.StudyReading) -> tuple[str, str, int]:
    return reading.piece, reading.person, reading.round


def _division_nm(readings: Iterable[StudyReading], study: Study) -> int:
    """The coarsest division of the tapes that were named (nm)."""
    named = [reading.instrument.division_nm for reading in readings if reading.instrument is not None]
    if named:
        return max(named)
    return nm_per_unit()[Unit.INCH] // PARTS_OF_AN_INCH if study.unit == Unit.INCH else NM_PER_MM


def _tolerances(study: Study, readings: Iterable[list[StudyReading]]) -> Mapping[str, int]:
    """The narrowest whole width of each point's tolerance as read, over the sizes studied (nm)."""
    spec = Spec.objects.filter(style=study.style_id, state=Spec.State.IN_FORCE).first()
    if spec is None:
        return {}
    sizes = {one.turn.study_piece.piece.size_label for of_point in readings for one in of_point}
    found: dict[str, int] = {}
    for size, plans in plans_of_spec(spec).by_size.items():
        if size in sizes:
            for code, plan in plans.items():
                width_nm = _width_nm(plan)
                if width_nm:
                    found[code] = min(width_nm, found.get(code, width_nm))
    return found


def _width_nm(plan: PointPlan) -> int:
    return plan.limits.upper_nm - plan.limits.lower_nm
