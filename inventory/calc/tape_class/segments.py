"""What is known of a tape at each moment: no correction, that of its newest check, or in doubt.

The checks of a tape cut time into stretches. In each, one thing is known of every reading: nothing but what
the class promises or the shop states, before the first check; the error found by the newest check; or, when
the *next* check that can tell finds the tape wrong, that the error lay anywhere between what was found before
and what was found then. There the middle is taken off, and half the distance counts as the half-width of a
rectangular distribution: u = half-width / √3 (GUM, JCGM 100:2008, 4.3.7; from memory).

The error of a reading L is always a straight line, start + stretch·L.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import numpy.typing as npt

from inventory.calc.tape_class.classes import TapeClass, tape_u_nm
from inventory.calc.tape_class.findings import CheckFindings, CheckVerdict
from inventory.calc.tape_class.newest import DatedCheck


@dataclass(frozen=True, slots=True)
class Line:
    """The error of a tape: `start_nm` on every reading, and `stretch` nm per nm read."""

    start_nm: float = 0.0
    stretch: float = 0.0

    def error_nm(self, reading_nm: float) -> float:
        """What a reading of this length is too long by (nm)."""
        return self.start_nm + self.stretch * reading_nm

    def corrected_nm(self, reading_nm: int) -> int:
        """The reading without the error, in whole nm.

        >>> Line(start_nm=1_000_000.0, stretch=-0.01).corrected_nm(300_000_000)
        302000000
        """
        return reading_nm - round(self.error_nm(reading_nm))

    def corrected_many(self, readings_nm: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """The same of an array."""
        error: npt.NDArray[np.int64] = np.rint(self.start_nm + self.stretch * readings_nm).astype(np.int64)
        return readings_nm - error


@dataclass(frozen=True, slots=True)
class Promise:
    """What is known without a check: the class, else what the shop states; neither: nothing is counted."""

    tape_class: TapeClass = TapeClass.UNCLASSED
    from_end: bool = False
    stated_u_nm: float | None = None

    def u_nm(self, length_nm: int) -> float:
        """Standard uncertainty (nm) of a reading of this length."""
        if self.tape_class is TapeClass.UNCLASSED and self.stated_u_nm is None:
            return 0.0
        return tape_u_nm(self.tape_class, length_nm, from_end=self.from_end, stated_u_nm=self.stated_u_nm)


@dataclass(frozen=True, slots=True)
class Segment:
    """One stretch of time, `since` (its first moment; None: always before) to `until` (not reached).

    `check` is the newest check in it; `found` the later one that found the tape wrong, when the readings in
    between are in doubt, and `before` the last one before that could tell.
    """

    since: datetime | None
    until: datetime | None
    promise: Promise
    check: DatedCheck | None = None
    found: DatedCheck | None = None
    before: DatedCheck | None = None

    @property
    def line(self) -> Line:
        """The error to take off every reading."""
        if self.found is None:
            return line_of(self.check)
        before, found = line_of(self.before), line_of(self.found)
        return Line((before.start_nm + found.start_nm) / 2, (before.stretch + found.stretch) / 2)

    def u_nm(self, length_nm: int) -> float:
        """Standard uncertainty (nm) that the tape leaves in a corrected reading of this length."""
        if self.found is None:
            return self._u_of(self.check, length_nm)
        apart = line_of(self.before).error_nm(length_nm) - line_of(self.found).error_nm(length_nm)
        known = max(self._u_of(self.before, length_nm), self._u_of(self.found, length_nm))
        return math.hypot(apart / 2 / math.sqrt(3), known)

    @property
    def says_nothing(self) -> bool:
        """Whether there is no check, no class and nothing stated, so that a reading stays as it is."""
        return self.check is None and self.found is None and self.promise.u_nm(1) == 0

    def _u_of(self, check: DatedCheck | None, length_nm: int) -> float:
        if check is None:
            return self.promise.u_nm(length_nm)
        return check.findings.correct(length_nm).u_nm


def line_of(check: DatedCheck | None) -> Line:
    """The error a check found; none before any."""
    if check is None:
        return Line()
    found: CheckFindings = check.findings
    return Line(found.start_nm, found.stretch)


def segments_of(checks: Sequence[DatedCheck], *, promise: Promise) -> tuple[Segment, ...]:
    """The stretches between the checks of one tape, oldest first; one more than there are checks.

    A check that cannot tell gives its correction from then on, but neither ends nor begins a doubt.
    """
    dated = sorted(checks, key=lambda check: check.made_at)
    return tuple(_segment(dated, number, promise) for number in range(len(dated) + 1))


def segment_at(segments: Sequence[Segment], at: datetime) -> Segment:
    """The stretch that holds this moment; a check counts from its own moment on."""
    starts = [segment.since for segment in segments[1:] if segment.since is not None]
    return segments[bisect_right(starts, at)]


def _segment(dated: Sequence[DatedCheck], number: int, promise: Promise) -> Segment:
    before, after = dated[:number], dated[number:]
    decided = next((check for check in after if _can_tell(check)), None)
    found = decided if decided is not None and decided.findings.verdict is CheckVerdict.NOT_GOOD else None
    return Segment(
        since=before[-1].made_at if before else None,
        until=after[0].made_at if after else None,
        promise=promise,
        check=before[-1] if before else None,
        found=found,
        before=next((check for check in reversed(before) if _can_tell(check)), None) if found else None,
    )


def _can_tell(check: DatedCheck) -> bool:
    return check.findings.verdict is not CheckVerdict.CANNOT_TELL
