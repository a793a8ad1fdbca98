"""What was read in a sitting so far, corrections included: for looking back on purpose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inventory.models import Reading
    from inventory.queries.bench.sheet import Sheet
    from inventory.queries.bench.walk import Step


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading; `stands` is false when a later one corrects it."""

    reading: Reading
    stands: bool


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step with all its readings, oldest first."""

    step: Step
    readings: tuple[ReadingLine, ...]


def readings_of(sheet: Sheet) -> list[StepLine]:
    """Every step that was read, in walk order, with its readings. One query."""
    if sheet.inspection is None:
        return []
    every = list(sheet.inspection.readings.select_related("taken_by", "instrument"))
    corrected = {reading.corrects_id for reading in every}
    lines = []
    for step in sheet.walk:
        of_step = tuple(
            ReadingLine(reading=reading, stands=reading.pk not in corrected)
            for reading in every
            if reading.point_id == step.point.pk and reading.side == step.side
        )
        if of_step:
            lines.append(StepLine(step=step, readings=of_step))
    return lines
