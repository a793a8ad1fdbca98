"""What is known of each tape at each moment, and what that does to readings and to the plans they meet.

A reading is never altered. Where it is judged, the error that its tape had when it was read is taken off, and
what the tape leaves uncertain is added to the fixed part of the reading error: it is in every reading of a
point alike, no repeat averages it away, and it falls out of left against right. Where a point was read with
more than one tape, or before and after a check, that is no longer so: the tape's part is then counted with
the repeats, times their number, so that they do not shrink it either.

What is known is kept in memory under the shop's `instruments_version`, so asking costs no statement.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
from bisect import bisect_right
from collections import defaultdict
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from inventory.calc.tape_class import (
    CheckedLength,
    DatedCheck,
    Line,
    Promise,
    Segment,
    TapeCheck,
    TapeClass,
    evaluate,
    segments_of,
)
from inventory.models import Instrument
from inventory.models import TapeCheck as StoredCheck

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.calc.plan import PointPlan
    from inventory.models import Reading, Shop
    from inventory.models.own_readings import OwnReading

_STEP_NM: Final = 10_000
"""The tape's part is rounded up to this, so that pieces read after different checks share a basis."""


@dataclasses.dataclass(frozen=True, slots=True, eq=False)
class Known:
    """What is known of one tape in one stretch of time; there is one of each, so they compare as objects."""

    instrument: int
    number: str
    segment: Segment


class Tapes:
    """What is known of every tape; `NOTHING` where there is no check, no class and nothing stated."""

    def __init__(self, segments: Mapping[int, tuple[Segment, ...]], numbers: Mapping[int, str]) -> None:
        """Segments and numbers by the key of the instrument."""
        self._segments = {
            pk: of_one
            for pk, of_one in segments.items()
            if not all(segment.says_nothing for segment in of_one)
        }
        self._known = {
            pk: [None if segment.says_nothing else Known(pk, numbers[pk], segment) for segment in of_one]
            for pk, of_one in self._segments.items()
        }
        # Looked through once and not per reading: a tape checked every day has hundreds of stretches.
        self._starts = {
            pk: [segment.since for segment in of_one[1:] if segment.since is not None]
            for pk, of_one in self._segments.items()
        }

    def __bool__(self) -> bool:
        return bool(self._segments)

    def at(self, instrument: int | None, moment: dt.datetime) -> Known | None:
        """What is known of a reading taken with it then; None: nothing, and the reading stays as it is."""
        starts = self._starts.get(instrument) if instrument is not None else None
        if starts is None or instrument is None:
            return None
        return self._known[instrument][bisect_right(starts, moment)]

    def in_doubt(self) -> list[Known]:
        """The stretches of time whose readings a later check put in doubt, tape by tape, oldest first."""
        return [
            known
            for every in self._known.values()
            for known in every
            if known is not None and known.segment.found is not None
        ]

    def of(self, reading: Reading | OwnReading) -> Known | None:
        """The same, of a stored reading."""
        return self.at(reading.instrument_id, reading.taken_at)

    def corrected_nm(self, reading: Reading | OwnReading) -> int:
        """The reading without the error of its tape (nm)."""
        known = self.of(reading) if self._segments else None
        return reading.length_nm if known is None else known.segment.line.corrected_nm(reading.length_nm)


NOTHING: Final = Tapes({}, {})


class TapesOfVerdict:
    """The corrections a stored verdict was given with, to work it out again."""

    def __init__(self, document: Mapping[str, Any] | None) -> None:  # Any: JSON
        self._entries = [
            (
                entry["instrument"],
                _moment(entry["since"]),
                _moment(entry["until"]),
                Line(entry["start_nm"], entry["stretch"]),
            )
            for entry in (document or {}).get("tapes", ())
        ]

    def corrected_nm(self, reading: Reading) -> int:
        """The reading without the error of its tape (nm)."""
        for instrument, since, until, line in self._entries:
            if (
                instrument == reading.instrument_id
                and (since is None or since <= reading.taken_at)
                and (until is None or reading.taken_at < until)
            ):
                return line.corrected_nm(reading.length_nm)
        return reading.length_nm


def tapes_of(shop: Shop) -> Tapes:
    """What is known of the shop's tapes now. No statement when it is kept, or when there is no tape."""
    return _kept(shop.instruments_version) if shop.instruments_version else NOTHING


def forget_kept() -> None:
    """Forget what is kept in memory."""
    _kept.cache_clear()


@lru_cache(maxsize=2)
def _kept(version: int) -> Tapes:  # noqa: ARG001  # the version is only the key
    checks: defaultdict[int, list[DatedCheck]] = defaultdict(list)
    for check in StoredCheck.objects.order_by("checked_at", "pk"):
        checks[check.instrument_id].append(as_dated(check))
    segments, numbers = {}, {}
    for instrument in Instrument.objects.all():
        segments[instrument.pk] = segments_of(checks[instrument.pk], promise=promise_of(instrument))
        numbers[instrument.pk] = instrument.number
    return Tapes(segments, numbers)


def class_of(instrument: Instrument) -> TapeClass:
    """The accuracy class as the calculations name it."""
    return TapeClass(instrument.accuracy_class) if instrument.accuracy_class else TapeClass.UNCLASSED


def promise_of(instrument: Instrument) -> Promise:
    """What is known of an instrument before its first check."""
    return Promise(class_of(instrument), instrument.zero_at_end, instrument.stated_u_nm)


def as_dated(check: StoredCheck) -> DatedCheck:
    """A stored check as the calculations take it, worked out again from what it was judged on."""
    document = check.document
    near, far = (
        CheckedLength(length["rule_nm"], tuple(length["readings_nm"])) for length in document["lengths"]
    )
    found = evaluate(
        TapeCheck(near, far, division_nm=document["division_nm"], rule_u_nm=document["rule_u_nm"]),
        tape_class=TapeClass(document["class"]),
        allowed_nm=document["allowed_nm"],
        from_end=document["from_end"],
    )
    return DatedCheck(check.checked_at, found, key=check.pk)


TapesOfPoint = dict[Known | None, int]
"""With what a point was read, and how many times; None: with nothing anything is known of."""


def known_by_point(readings: Iterable[Reading], tapes: Tapes) -> dict[str, TapesOfPoint]:
    """What is known of the tapes each point was read with, by code; load `point` with the readings."""
    found: dict[str, TapesOfPoint] = {}
    for reading in readings if tapes else ():
        of_point, known = found.setdefault(reading.point.code, {}), tapes.of(reading)
        of_point[known] = of_point.get(known, 0) + 1
    return found


def as_read(plan: PointPlan, tapes: Mapping[Known | None, int]) -> PointPlan:
    """The plan with what the tapes leave uncertain in its reading error."""
    part_nm = max((_part_nm(known, plan.nominal_nm) for known in tapes), default=0)
    if not part_nm:
        return plan
    error = plan.error
    if len(tapes) == 1:
        fixed = _root(error.fixed_sd_nm**2 + part_nm**2)
        return dataclasses.replace(plan, error=dataclasses.replace(error, fixed_sd_nm=fixed))
    repeat = _root(error.repeat_sd_nm**2 + sum(tapes.values()) * part_nm**2)
    return dataclasses.replace(plan, error=dataclasses.replace(error, repeat_sd_nm=repeat))


def _part_nm(known: Known | None, nominal_nm: int) -> int:
    return 0 if known is None else math.ceil(known.segment.u_nm(nominal_nm) / _STEP_NM) * _STEP_NM


def corrections_document(
    plans: Iterable[PointPlan], tapes: Iterable[Mapping[Known | None, int]]
) -> dict[str, Any] | None:  # Any: JSON
    """The corrections taken into a verdict, by tape and check; None where no check says anything.

    `tapes` are those of each point; what is taken off is told for the nominals of the plans.
    """
    every = {known for of_point in tapes for known in of_point if known is not None}
    nominals = [plan.nominal_nm for plan in plans]
    entries = [_entry(one, nominals) for one in every if one.segment.check or one.segment.found]
    entries.sort(key=lambda entry: (entry["number"], entry["since"] or ""))
    return {"tapes": entries} if entries else None


def _entry(known: Known, nominals_nm: Iterable[int]) -> dict[str, Any]:  # Any: JSON
    segment, line = known.segment, known.segment.line
    put_on = [-line.error_nm(nominal_nm) for nominal_nm in nominals_nm]
    check = segment.check if segment.found is None else segment.before
    return {
        "instrument": known.instrument,
        "number": known.number,
        "since": segment.since.isoformat() if segment.since else None,
        "until": segment.until.isoformat() if segment.until else None,
        "check": check.key if check else None,
        "checked_at": check.made_at.isoformat() if check else None,
        "found": segment.found.key if segment.found else None,
        "found_at": segment.found.made_at.isoformat() if segment.found else None,
        "start_nm": line.start_nm,
        "stretch": line.stretch,
        "low_nm": round(min(put_on)),
        "high_nm": round(max(put_on)),
    }


def _root(square: int) -> int:
    root = math.isqrt(square)
    return root if root * root == square else root + 1


def _moment(text: str | None) -> dt.datetime | None:
    return dt.datetime.fromisoformat(text) if text else None
