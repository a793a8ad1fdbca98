"""Where a reading of our own measuring belongs: a turn of a study, or a sitting with the check garment.

Both are walked like a piece at the bench, left side before right, one box at a time. No figure that was read
before is ever shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, cast

from inventory.calc import length, slips
from inventory.models import CheckReading, CheckSitting, Shop, Spec, StudyReading, StudyTurn
from inventory.queries.bench.walk import Step
from inventory.queries.plans import plans_of, plans_of_spec

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.calc.plan import Side
    from inventory.models import MeasurePoint, Style
    from inventory.queries.plans import SpecPlans

OwnReading = StudyReading | CheckReading


@dataclass(frozen=True)
class OwnPlace:
    """What lies on the table, what is to be read of it, and what was read (in effect, by step key)."""

    record: StudyTurn | CheckSitting
    tag: str
    what: str
    style: Style
    size_label: str
    unit: str
    instrument_id: int | None
    steps: tuple[Step, ...]
    taken: Mapping[str, OwnReading]
    over: str
    """Why nothing more is read here, in words; empty while it is open."""

    @property
    def left(self) -> tuple[Step, ...]:
        """The steps still to be read, in walk order."""
        return tuple(step for step in self.steps if step.key not in self.taken)

    def step(self, key: str) -> Step | None:
        """The step of that name; None when it is not read here."""
        return next((step for step in self.steps if step.key == key), None)

    @cached_property
    def spec_plans(self) -> SpecPlans | None:
        """What the figures should be about, for the slip guard alone; None when no spec has the size."""
        if isinstance(self.record, StudyTurn):
            plans = plans_of(self.record.study_piece.piece.batch)
        else:
            spec = Spec.objects.filter(style=self.style, state=Spec.State.IN_FORCE).first()
            if spec is None:
                return None
            plans = plans_of_spec(spec)
        return plans if self.size_label in plans.by_size else None


def place_of_turn(turn: StudyTurn) -> OwnPlace:
    """A turn of a study; load `study__style`, `study_person__person`, `study_piece__piece__batch__style`."""
    piece = turn.study_piece.piece
    turns = StudyTurn.objects.filter(study_person=turn.study_person_id).count()
    study = turn.study
    readings = turn.readings.filter(corrected_by=None).select_related("point", "taken_by")
    return OwnPlace(
        record=turn,
        tag=piece.label,
        what=f"{study.label}, round {turn.round}: piece {turn.order} of {turns}",
        style=study.style,
        size_label=piece.size_label,
        unit=study.unit,
        instrument_id=None,
        steps=walk_of_points(study.points.all()),
        taken=_by_step(readings),
        over="" if study.state == study.State.RUNNING else f"{study.label} is over.",
    )


def place_of_sitting(sitting: CheckSitting) -> OwnPlace:
    """A sitting with the check garment; load `garment__style` and `opened_by`."""
    garment = sitting.garment
    readings = sitting.readings.filter(corrected_by=None).select_related("point", "taken_by")
    return OwnPlace(
        record=sitting,
        tag=garment.code,
        what=f"check garment, {garment.style.name}",
        style=garment.style,
        size_label=garment.size_label,
        unit=sitting.unit,
        instrument_id=sitting.instrument_id,
        steps=walk_of_points(garment.points.all()),
        taken=_by_step(readings),
        over="" if sitting.finished_at is None else "This sitting with the check garment is finished.",
    )


def walk_of_points(points: Iterable[MeasurePoint]) -> tuple[Step, ...]:
    """All left and single sides in the style's order, then all right sides, as at the bench."""
    points = sorted(points, key=lambda point: (point.position, point.pk))
    columns: list[tuple[MeasurePoint, Side]] = [
        (point, cast("Side", point.sides_read[0])) for point in points
    ]
    columns += [(point, "R") for point in points if point.is_paired]
    return tuple(
        Step(point=point, side=side, number=number) for number, (point, side) in enumerate(columns, start=1)
    )


def doubt_about(place: OwnPlace, reading: OwnReading) -> str:
    """What the slip guard asks about the reading, without any figure that was read before; or nothing.

    A correction that says the same again is no slip.
    """
    if reading.corrects is not None and reading.corrects.length_nm == reading.length_nm:
        return ""
    plans = place.spec_plans
    if plans is None or reading.point.code not in plans.by_size[place.size_label]:
        return ""
    found = slips.questions_for(
        reading=length.parse(reading.typed, unit=length.Unit(reading.unit)),
        code=reading.point.code,
        side=cast("Side", reading.side),
        size_label=place.size_label,
        plans_by_size=plans.by_size,
        taken={},
        display=Shop.objects.current().as_display(),
        blind=True,
    )
    return found[0].question if found else ""


def next_turn(study: int, person: int) -> StudyTurn | None:
    """The first turn of a person that is not read in full; None when all are."""
    turns = (
        StudyTurn.objects.filter(study=study, study_person__person=person)
        .select_related("study__style", "study_person__person", "study_piece__piece__batch__style")
        .order_by("order")
    )
    sides = None
    for turn in turns.prefetch_related("readings"):
        sides = sides or len(walk_of_points(turn.study.points.all()))
        if sum(reading.corrects_id is None for reading in turn.readings.all()) < sides:
            return turn
    return None


def _by_step(readings: Iterable[OwnReading]) -> dict[str, OwnReading]:
    return {f"{reading.point.code}-{reading.side}": reading for reading in readings}
