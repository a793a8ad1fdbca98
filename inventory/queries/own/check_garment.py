"""What the check garments say of our own measuring: steady, moved, or not enough yet.

Each point and side has its chart of individuals (`calc.drift.individuals`), over the finished sittings since
the garment's baseline began. Figures are those a verdict would take: without the error that the newest tape
check found. The chance of a false alarm of 2 % a sitting is shared out over all charts of the garment.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from django.db.models import Count, Max, Q
from django.utils.timezone import localdate, localtime

from inventory.calc import uncertainty
from inventory.calc.drift.individuals import Chart, KnownSpread, Steadiness, individuals_chart
from inventory.models import CheckGarment, CheckReading, CheckSitting, PointError, Shop
from inventory.queries.own.run_charts import RunChart, Spot
from inventory.queries.tape_corrections import tapes_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from inventory.models import MeasurePoint
    from inventory.queries.tape_corrections import Tapes

FALSE_ALARM: Final = 0.02
PICTURED: Final = 40


@dataclass(frozen=True, slots=True)
class Shift:
    """How far our readings lie from what they used to be (nm), and the standard uncertainty of that (nm)."""

    nm: float
    u_nm: float


@dataclass(frozen=True, slots=True)
class ColumnChart:
    """One point and side of a garment: its chart, the days of its figures, and how far it has moved."""

    point: MeasurePoint
    side: str
    chart: Chart
    days: tuple[str, ...]
    shift: Shift | None

    @property
    def moved(self) -> bool:
        """Whether the newest figure says that our measuring has moved."""
        return self.chart.verdict is Steadiness.MOVED

    def as_picture(self) -> RunChart:
        """The newest figures, ready to be drawn."""
        chart = self.chart
        spots = [
            Spot(point.value_nm, day, signals=point.signals, baseline=point.baseline)
            for point, day in zip(chart.points, self.days, strict=True)
        ]
        side = {"L": ", left", "R": ", right"}.get(self.side, "")
        return RunChart(
            title=f"{self.point.code} {self.point.name}{side}",
            spots=spots[-PICTURED:],
            lower_nm=chart.limits.low if chart.limits else None,
            upper_nm=chart.limits.high if chart.limits else None,
            centre_nm=chart.mean_nm,
        )


@dataclass(frozen=True, slots=True)
class GarmentState:
    """What one check garment says, and when it was measured last."""

    garment: CheckGarment
    sittings: int
    newest_at: dt.datetime | None
    columns: tuple[ColumnChart, ...]

    @property
    def verdict(self) -> Steadiness:
        """The worst of its charts; not enough while none can tell."""
        return _worst(column.chart.verdict for column in self.columns)

    @property
    def moved(self) -> tuple[ColumnChart, ...]:
        """The points that say our measuring has moved."""
        return tuple(column for column in self.columns if column.moved)


@dataclass(frozen=True, slots=True)
class MeasuringState:
    """What all check garments in use say of our measuring at a moment.

    `by_kind` is the mean shift per kind of point (a half girth, a length…), `by_point` per point code.
    """

    verdict: Steadiness
    garments: tuple[GarmentState, ...]
    by_kind: Mapping[str, Shift]
    by_point: Mapping[str, Shift]

    @property
    def has_moved(self) -> bool:
        """Whether it must be said before any maker is blamed."""
        return self.verdict is Steadiness.MOVED


def state_at(moment: dt.datetime) -> MeasuringState | None:
    """What the check garments said by the sittings finished until then; None without one in use.

    One statement without a check garment, else two.
    """
    garments = list(
        CheckGarment.objects.filter(
            Q(retired_on=None) | Q(retired_on__gt=moment.date()), since__lte=moment.date()
        )
    )
    if not garments:
        return None
    states = _states(garments, until=moment)
    columns = [column for state in states for column in state.columns]
    return MeasuringState(
        verdict=_worst(state.verdict for state in states),
        garments=tuple(states),
        by_kind=_mean_shifts((column.point.kind, column.shift) for column in columns),
        by_point=_mean_shifts((column.point.code, column.shift) for column in columns),
    )


def state_of(garment: CheckGarment, *, until: dt.datetime) -> GarmentState:
    """What one garment says by its sittings until then. One statement."""
    (state,) = _states([garment], until=until)
    return state


@dataclass(frozen=True, slots=True)
class GarmentRow:
    """A check garment in a list: finished sittings, and whether it was measured today."""

    garment: CheckGarment
    sittings: int
    newest_at: dt.datetime | None
    is_due: bool


def garment_rows(*, today: dt.date) -> list[GarmentRow]:
    """All check garments, those in use first. One statement."""
    garments = CheckGarment.objects.select_related("style").annotate(
        finished=Count("sittings", filter=Q(sittings__finished_at__isnull=False)),
        newest=Max("sittings__finished_at"),
    )
    rows = [
        GarmentRow(
            garment=garment,
            sittings=garment.finished,
            newest_at=garment.newest,
            is_due=garment.retired_on is None
            and (garment.newest is None or localdate(garment.newest) < today),
        )
        for garment in garments
    ]
    return sorted(rows, key=lambda row: (row.garment.retired_on is not None, row.garment.code))


def garment_by_code(code: str) -> CheckGarment | None:
    """The check garment of that code; None when there is none."""
    return CheckGarment.objects.select_related("style").filter(code=code).first()


def sitting_for_bench(garment: CheckGarment, pk: int) -> CheckSitting | None:
    """A sitting with everything the bench names; None when the garment has no such one."""
    return (
        CheckSitting.objects.select_related("garment__style", "opened_by")
        .filter(garment=garment, pk=pk)
        .first()
    )


def _states(garments: Sequence[CheckGarment], *, until: dt.datetime) -> list[GarmentState]:
    found: defaultdict[int, dict[tuple[int, str], list[CheckReading]]] = defaultdict(dict)
    readings = (
        CheckReading.objects.filter(
            sitting__garment__in=garments,
            sitting__finished_at__lte=until,
            corrected_by=None,
        )
        .select_related("sitting", "point__known_error")
        .order_by("sitting__finished_at", "sitting_id", "pk")
    )
    began = {garment.pk: garment.baseline_from for garment in garments}
    for reading in readings:
        garment = reading.sitting.garment_id
        if reading.sitting.opened_at >= began[garment]:
            found[garment].setdefault((reading.point_id, reading.side), []).append(reading)
    tapes = tapes_of(Shop.objects.current()) if found else None
    return [_state(garment, found[garment.pk], tapes) for garment in garments]


def _state(
    garment: CheckGarment, columns: Mapping[tuple[int, str], list[CheckReading]], tapes: Tapes | None
) -> GarmentState:
    charts = [
        _column(garment, readings, tapes, false_alarm=FALSE_ALARM / len(columns))
        for readings in columns.values()
    ]
    charts.sort(key=lambda column: (column.point.position, column.point.pk, column.side))
    sittings = {reading.sitting for readings in columns.values() for reading in readings}
    return GarmentState(
        garment=garment,
        sittings=len(sittings),
        newest_at=max((one.finished_at for one in sittings if one.finished_at), default=None),
        columns=tuple(charts),
    )


def _column(
    garment: CheckGarment, readings: Sequence[CheckReading], tapes: Tapes | None, *, false_alarm: float
) -> ColumnChart:
    values = [reading.length_nm if tapes is None else tapes.corrected_nm(reading) for reading in readings]
    point = readings[-1].point
    chart = individuals_chart(
        values,
        baseline=garment.baseline_sittings,
        known=_known_spread(point),
        false_alarm=false_alarm,
    )
    days = tuple(f"{localtime(reading.sitting.opened_at):%-d %b %Y}" for reading in readings)
    return ColumnChart(point, readings[-1].side, chart, days, _shift(chart))


def _known_spread(point: MeasurePoint) -> KnownSpread | None:
    """How far one sitting's figure spreads by our own study; the tape's and the level's part stay alike."""
    known = point.known_error
    if known is None or known.origin != PointError.Origin.STUDY:
        return None
    error = known.as_reading_error()
    combined = uncertainty.Combined(
        math.hypot(error.repeat_sd_nm, error.person_sd_nm),
        uncertainty.effective_dof(
            [(error.repeat_sd_nm, error.repeat_dof), (error.person_sd_nm, error.person_dof)]
        ),
    )
    return KnownSpread(combined.u_nm, combined.dof) if combined.u_nm > 0 else None


def _shift(chart: Chart) -> Shift | None:
    """How far the newest figures lie from the baseline: those of the run they end, one at least."""
    if chart.mean_nm is None or chart.sd_nm is None or not chart.points:
        return None
    newest = chart.points[-max(chart.points[-1].run, 1) :]
    mean = math.fsum(point.value_nm for point in newest) / len(newest)
    return Shift(mean - chart.mean_nm, chart.sd_nm * math.sqrt(1 / len(newest) + 1 / chart.baseline))


def _mean_shifts(shifts: Iterable[tuple[str, Shift | None]]) -> dict[str, Shift]:
    groups: defaultdict[str, list[Shift]] = defaultdict(list)
    for name, shift in shifts:
        if shift is not None:
            groups[name].append(shift)
    return {
        name: Shift(
            math.fsum(one.nm for one in group) / len(group),
            # The same hands at the same sittings: what is wrong with one figure may be with all.
            math.fsum(one.u_nm for one in group) / len(group),
        )
        for name, group in groups.items()
    }


def _worst(verdicts: Iterable[Steadiness]) -> Steadiness:
    found = set(verdicts)
    for verdict in (Steadiness.MOVED, Steadiness.STEADY):
        if verdict in found:
            return verdict
    return Steadiness.TOO_FEW
