"""A piece as it lies at the bench: its walk, its open sitting, what was read, what is still open."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from inventory.models import Inspection, Piece, Reading, Shop, SlipQuestion, UnreadSide
from inventory.models.kept_questions import KeptQuestion
from inventory.queries.bench.walk import Step, walk_of
from inventory.queries.plans import plans_of
from inventory.queries.sampling.rota import resting_in
from inventory.queries.taken import taken_of
from inventory.queries.tape_corrections import as_read, known_by_point, tapes_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.calc.judging import Finding, Taken
    from inventory.calc.plan import PointPlan
    from inventory.queries.plans import SpecPlans


class PieceNotFound(LookupError):
    """No piece carries the number."""

    def __init__(self, label: str) -> None:
        super().__init__(
            f"There is no piece {label}. Look at the tag again: the letter P and its number, such as P000123."
        )


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the bench knows of a piece; `readings` are those in effect, with their points loaded.

    `resting` are the codes of secondary points whose turn it is not in this batch.
    `questions` are the slip questions nobody has answered yet. `inspection` is None before the first reading.
    """

    piece: Piece
    shop: Shop
    spec_plans: SpecPlans
    inspection: Inspection | None = None
    readings: tuple[Reading, ...] = ()
    questions: tuple[SlipQuestion, ...] = ()
    unread: frozenset[tuple[str, str]] = frozenset()
    resting: frozenset[str] = frozenset()
    walk: tuple[Step, ...] = field(init=False)
    taken: Mapping[tuple[str, str], Taken] = field(init=False)
    found: dict[str, tuple[Finding, ...]] = field(init=False, repr=False, compare=False, default_factory=dict)
    """What `asking.findings_at` has judged so far, by point: one answer asks for the same one four times."""

    def __post_init__(self) -> None:
        # Frozen for its readers; the two derived fields are set once, here.
        read = {reading.point.code for reading in self.readings}
        walk = walk_of(self.spec_plans, self.piece.size_label, without=self.resting - read)
        object.__setattr__(self, "walk", walk)
        object.__setattr__(self, "taken", taken_of(self.readings, tapes_of(self.shop)))

    @property
    def blind(self) -> bool:
        """Whether nominal, limits and earlier repeats stay hidden until a reading is in."""
        return self.shop.blind_entry if self.inspection is None else self.inspection.blind

    @property
    def unit(self) -> str:
        """The unit of the sitting: what a figure means that is typed without one."""
        return self.piece.batch.spec.unit_of_record if self.inspection is None else self.inspection.unit

    @property
    def done(self) -> frozenset[tuple[str, str]]:
        """Sides that are read, or noted as impossible to read."""
        return frozenset(self.taken) | self.unread

    @property
    def missing(self) -> tuple[Step, ...]:
        """Steps still to come, in walk order."""
        done = self.done
        return tuple(step for step in self.walk if step.column not in done)

    @property
    def given_up(self) -> frozenset[tuple[str, str]]:
        """Sides noted as impossible to read and not read after all."""
        return self.unread - frozenset(self.taken)

    @property
    def only_one_half(self) -> frozenset[str]:
        """Codes of the points of which one half cannot be read: the full girth is twice the other."""
        return frozenset(code for code, _ in self.given_up)

    def step(self, code: str, side: str) -> Step | None:
        """The step of a point and side, or None when the walk has no such step."""
        return next((step for step in self.walk if step.column == (code, side)), None)

    def step_named(self, key: str) -> Step | None:
        """The step of a name such as `WA-L`, or None."""
        return next((step for step in self.walk if step.key == key), None)

    def plan(self, code: str) -> PointPlan:
        """What the spec asks of a point in this piece's size."""
        return self.spec_plans.for_size(self.piece.size_label)[code]

    def plan_as_read(self, code: str) -> PointPlan:
        """The same with what the tapes leave uncertain that the point was read with."""
        of_point = [reading for reading in self.readings if reading.point.code == code]
        return as_read(self.plan(code), known_by_point(of_point, tapes_of(self.shop)).get(code, {}))

    def taken_at(self, code: str) -> dict[str, Taken]:
        """What was taken at a point, by side."""
        return {side: taken for (of, side), taken in self.taken.items() if of == code}

    def readings_at(self, column: tuple[str, str]) -> tuple[Reading, ...]:
        """The readings in effect of one side of one point."""
        return tuple(r for r in self.readings if (r.point.code, r.side) == column)


def sheet_of(number: int) -> Sheet:
    """A piece with its open sitting, if any; raises `PieceNotFound` and `SizeNotInSpec`. Six queries,
    two more where the style has secondary points.
    """
    piece = piece_numbered(number)
    shop = Shop.objects.current()
    spec_plans = plans_of(piece.batch)
    resting = resting_in(piece.batch, spec_plans)
    inspection = Inspection.objects.filter(piece=piece, finished_at=None).select_related("instrument").last()
    if inspection is None:
        return Sheet(piece=piece, shop=shop, spec_plans=spec_plans, resting=resting)
    inspection.piece = piece
    readings = in_effect(inspection.readings.select_related("taken_by"), spec_plans)
    return Sheet(
        piece=piece,
        shop=shop,
        spec_plans=spec_plans,
        inspection=inspection,
        readings=readings,
        questions=open_questions(inspection, readings),
        unread=unread_columns(inspection, spec_plans),
        resting=resting,
    )


def piece_numbered(number: int) -> Piece:
    """The piece of a number with its batch, style, spec and maker; raises `PieceNotFound`."""
    try:
        return Piece.objects.select_related("batch__style", "batch__spec", "batch__delivery__maker").get(
            number=number
        )
    except (Piece.DoesNotExist, OverflowError):
        raise PieceNotFound(f"P{number:06d}") from None


def in_effect(readings: Iterable[Reading], spec_plans: SpecPlans) -> tuple[Reading, ...]:
    """The readings no other of them corrects, each with its point; points no longer measured are left out."""
    points = {point.pk: point for point in spec_plans.points.values()}
    every = list(readings)
    corrected = {reading.corrects_id for reading in every}
    kept = [reading for reading in every if reading.pk not in corrected and reading.point_id in points]
    for reading in kept:
        reading.point = points[reading.point_id]
    return tuple(kept)


def open_questions(inspection: Inspection, readings: Iterable[Reading]) -> tuple[SlipQuestion, ...]:
    """The slip questions of a sitting that wait for an answer, oldest first, each with its reading."""
    by_id = {reading.pk: reading for reading in readings}
    questions = SlipQuestion.objects.filter(reading__inspection=inspection, answer=SlipQuestion.Answer.OPEN)
    waiting = [question for question in questions if question.reading_id in by_id]
    for question in waiting:
        question.reading = by_id[question.reading_id]
    return tuple(waiting)


def unread_columns(inspection: Inspection, spec_plans: SpecPlans) -> frozenset[tuple[str, str]]:
    """The sides noted as impossible to read in a sitting."""
    codes = {point.pk: point.code for point in spec_plans.points.values()}
    noted = UnreadSide.objects.filter(inspection=inspection).values_list("point_id", "side")
    return frozenset((codes[point_id], side) for point_id, side in noted if point_id in codes)


def every_reading_of(inspection: Inspection) -> list[Reading]:
    """All readings of a sitting, oldest first, those corrected later among them."""
    return _readings_of(inspection.pk)


_readings_of = KeptQuestion(lambda pk: Reading.objects.filter(inspection=pk), values=1)
