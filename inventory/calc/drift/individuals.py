"""The check garment's chart: one kept piece, one figure per sitting, and whether our measuring has moved.

The first sittings are the baseline. A later figure is compared with where the *next* figure was to be
expected: mean ± t·s·√(1 + 1/k) from k baseline figures, wider the fewer there are. The textbook's mean ± 3
moving ranges / d2 is drawn too (`natural`), but with ten figures it cries wolf some seven times too often.

Where a person-to-person study exists, its SD and the baseline's come together, each with its degrees of
freedom, unless sittings plainly differ by more than the study's repeats (F test at 1 %): then the sittings
alone count. A spread below what the division can show is not believed.

The chance of a false alarm at any one look, `false_alarm`, is split in two halves: a figure outside the
limits, and a run of figures on one side of the baseline mean. The run is as long as that half asks for, the
doubt in the baseline mean counted in. There are no other run rules: each would add false alarms of its own.

A figure outside the limits of the figures before it never becomes part of the baseline: else a shift while
the baseline still grows would widen its own limits, and be called steady from the next sitting on. One that
was a slip must be left out of the values by the caller.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Final

from inventory.calc.drift.control_limits import (
    D4_OF_TWO,
    Expected,
    KnownSpread,
    expected,
    natural_limits,
    run_that_signals,
)
from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals import Interval
from inventory.calc.length import NM_PER_MM

__all__ = ["MIN_BASELINE", "Chart", "ChartPoint", "KnownSpread", "Steadiness", "individuals_chart"]

MIN_BASELINE: Final = 5
MIN_BASELINE_WITH_STUDY: Final = 2


class Steadiness(StrEnum):
    """What the check garment says of our measuring."""

    STEADY = "steady"
    MOVED = "moved"
    TOO_FEW = "too_few"

    @property
    def label(self) -> str:
        """The answer in words."""
        return {
            "steady": "steady",
            "moved": "our measuring has moved",
            "too_few": "not enough yet",
        }[self.value]


@dataclass(frozen=True, slots=True)
class ChartPoint:
    """A sitting on the chart: figure and moving range (nm), whether it is baseline, and what it signals.

    `run` is how many figures up to here lie on one side of the baseline mean, in a row.
    """

    value_nm: int
    moving_range_nm: int | None
    baseline: bool
    outside: bool
    run: int
    run_too_long: bool

    @property
    def signals(self) -> bool:
        """Whether our measuring is said to have moved here."""
        return self.outside or self.run_too_long


@dataclass(frozen=True, slots=True)
class Chart:
    """The chart: centre and limits (nm; None when not enough yet), its points, verdict, and why in words.

    `natural` and `range_limit_nm` are the textbook's limits of figures and of moving ranges, for drawing.
    `run_length` is the length of run that signals.
    """

    baseline: int
    mean_nm: float | None
    sd_nm: float | None
    dof: int | None
    limits: Interval | None
    natural: Interval | None
    mean_range_nm: float | None
    range_limit_nm: float | None
    run_length: int | None
    points: tuple[ChartPoint, ...]
    verdict: Steadiness
    reason: str


def individuals_chart(
    values_nm: Sequence[int],
    *,
    baseline: int = 10,
    known: KnownSpread | None = None,
    division_nm: int = NM_PER_MM,
    false_alarm: float = 0.01,
) -> Chart:
    """The chart of a check garment's figures, oldest first; the verdict is that of the last figure.

    The first `baseline` figures are the baseline, those left out that lay outside when they came; while there
    are fewer, all but the last are, from 5 on (2 where a study's spread is known). Raises ImpossibleInput for
    a baseline under 5, a division not above zero, and a `false_alarm` not between 0 and 1.

    >>> from inventory.calc.drift.individuals import individuals_chart
    >>> steady = [330, 331, 330, 329, 330, 331, 330, 330]
    >>> individuals_chart([mm * 1_000_000 for mm in steady]).verdict.label
    'steady'
    >>> individuals_chart([mm * 1_000_000 for mm in [*steady, 337]]).verdict.label
    'our measuring has moved'
    """
    _check(baseline=baseline, division_nm=division_nm, false_alarm=false_alarm)
    least = MIN_BASELINE if known is None else MIN_BASELINE_WITH_STUDY
    if len(values_nm) <= least:
        return _too_few(values_nm, least=least)

    def expect(chosen: Sequence[int]) -> Expected:
        return expected([values_nm[place] for place in chosen], known, division_nm, false_alarm / 2)

    places = list(range(least))
    for place in range(least, len(values_nm) - 1):
        if len(places) == baseline:
            break
        limits = expect(places).limits
        if limits.low <= values_nm[place] <= limits.high:
            places.append(place)
    count, usual = len(places), expect(places)
    run_length = run_that_signals(count, false_alarm=false_alarm / 2)
    points = _points(values_nm, places, usual=usual, run_length=run_length)
    ranges = [abs(b - a) for a, b in pairwise(values_nm[place] for place in places)]
    mean_range = math.fsum(ranges) / len(ranges)
    verdict = Steadiness.MOVED if points[-1].signals else Steadiness.STEADY
    return Chart(
        baseline=count,
        mean_nm=usual.mean_nm,
        sd_nm=usual.sd_nm,
        dof=usual.dof,
        limits=usual.limits,
        natural=natural_limits(usual.mean_nm, mean_range),
        mean_range_nm=mean_range,
        range_limit_nm=D4_OF_TWO * mean_range,
        run_length=run_length,
        points=points,
        verdict=verdict,
        reason=_reason(points[-1], usual.limits, usual.mean_nm),
    )


def _points(
    values_nm: Sequence[int], places: Sequence[int], *, usual: Expected, run_length: int
) -> tuple[ChartPoint, ...]:
    points = []
    run, side = 0, 0
    for number, value in enumerate(values_nm):
        first = number in places
        # The baseline's own figures lie about their mean by construction: runs begin after it.
        now = 0 if first else (value > usual.mean_nm) - (value < usual.mean_nm)
        run = run + 1 if now == side and now else abs(now)
        side = now
        points.append(
            ChartPoint(
                value_nm=value,
                moving_range_nm=abs(value - values_nm[number - 1]) if number else None,
                baseline=first,
                outside=not (first or usual.limits.low <= value <= usual.limits.high),
                run=run,
                run_too_long=run >= run_length,
            )
        )
    return tuple(points)


def _reason(last: ChartPoint, limits: Interval, mean_nm: float) -> str:
    figure = f"The check garment reads {_mm(last.value_nm)}"
    expected = f"between {_mm(limits.low)} and {_mm(limits.high)} was to be expected"
    cure = "Check tape and hands before any maker is blamed."
    if last.outside:
        return f"{figure}; {expected}. {cure}"
    if last.run_too_long:
        side = "above" if last.value_nm > mean_nm else "below"
        return f"The last {last.run} figures all lie {side} the usual {_mm(mean_nm)}. {cure}"
    return f"{figure}; {expected}."


def _too_few(values_nm: Sequence[int], *, least: int) -> Chart:
    points = tuple(
        ChartPoint(value, abs(value - values_nm[n - 1]) if n else None, True, False, 0, False)  # noqa: FBT003
        for n, value in enumerate(values_nm)
    )
    missing = least + 1 - len(values_nm)
    sittings = "sitting is" if missing == 1 else "sittings are"
    return Chart(
        baseline=len(values_nm),
        mean_nm=None,
        sd_nm=None,
        dof=None,
        limits=None,
        natural=None,
        mean_range_nm=None,
        range_limit_nm=None,
        run_length=None,
        points=points,
        verdict=Steadiness.TOO_FEW,
        reason=f"{missing} more {sittings} needed before this can tell.",
    )


def _mm(nm: float) -> str:
    return f"{nm / NM_PER_MM:.1f} mm"


def _check(*, baseline: int, division_nm: int, false_alarm: float) -> None:
    if baseline < MIN_BASELINE:
        raise ImpossibleInput("number of baseline sittings", baseline, f"Take at least {MIN_BASELINE}")
    if division_nm <= 0:
        raise ImpossibleInput("division", f"{division_nm} nm", "Give what the garment is read to")
    if not 0 < false_alarm < 1:
        raise ImpossibleInput("chance of a false alarm", false_alarm, "Give a number between 0 and 1")
