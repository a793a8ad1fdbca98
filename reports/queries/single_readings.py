"""The single readings behind a mean, as a sheet lists them: what each person typed, and when."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.uncertainty import mean_nm

if TYPE_CHECKING:
    from inventory.models import Reading


@dataclass(frozen=True, slots=True)
class Single:
    """One reading: as typed, who read it, and when."""

    typed: str
    who: str
    at: dt.datetime


@dataclass(frozen=True, slots=True)
class SideReadings:
    """One side of a point that was read more than once: the readings its mean (nm) is of."""

    code: str
    side: str
    mean_nm: int
    readings: Sequence[Single]


def read_more_than_once(readings: Sequence[Reading], *, unit: str) -> list[SideReadings]:
    """The sides with more than one reading in effect, in the order they were first read.

    `readings` are all of a sitting, oldest first, with point and person loaded; corrected ones do not count.
    `unit` is the one of the sitting, which goes without saying.
    """
    corrected = {reading.corrects_id for reading in readings}
    groups: defaultdict[tuple[str, str], list[Reading]] = defaultdict(list)
    for reading in readings:
        if reading.pk not in corrected:
            groups[reading.point.code, reading.side].append(reading)
    return [
        SideReadings(
            code,
            side,
            mean_nm([reading.length_nm for reading in group]),
            [
                Single(as_typed(reading, unit=unit), reading.taken_by.shown_name, reading.taken_at)
                for reading in group
            ],
        )
        for (code, side), group in groups.items()
        if len(group) > 1
    ]


def as_typed(reading: Reading, *, unit: str) -> str:
    """What was typed, letter for letter; its unit is added where it was not typed and is not `unit`."""
    names_unit = any(sign.isalpha() or sign in "\"'″′”’" for sign in reading.typed)
    return reading.typed if names_unit or reading.unit == unit else f"{reading.typed} {reading.unit}"
