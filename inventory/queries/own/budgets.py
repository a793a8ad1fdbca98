"""The uncertainty budget of a point: what one reading may be off, part by part, and what comes of it.

Judging works with the same parts: `plans` adds level and state to the point's reading error, and the tape's
part comes in with the tape.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from django.utils import timezone

from inventory.calc import budget
from inventory.calc.budget import Component, PointParts
from inventory.calc.uncertainty import ReadingError
from inventory.models import Instrument, Shop, Spec, SpecCell
from inventory.models.points import Kind
from inventory.queries.own.knowing import error_source
from inventory.queries.point_levels import GIRTHS, Girth, level_part, state_part
from inventory.queries.tape_corrections import class_of, tapes_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.calc.budget import Budget
    from inventory.models import MeasurePoint, PointError

SOME_GIRTH_NM = 1_000_000_000
"""A tape's class is asked at a metre where no spec says how long the point is."""

_TAPES = (Instrument.Kind.TAPE, Instrument.Kind.TYPING_TAPE)  # garments are seldom measured with the rule


@dataclass(frozen=True, slots=True)
class Outcome:
    """One thing that is told from readings of the point, with its budget."""

    code: str
    words: str
    budget: Budget


@dataclass(frozen=True, slots=True)
class Line:
    """One part: what it is for a single reading, and what it adds to each outcome (nm)."""

    part: Component
    percent: float
    by_outcome: tuple[tuple[Outcome, float], ...]


@dataclass(frozen=True, slots=True)
class PointBudget:
    """The table of one point in one size, read with one tape."""

    point: MeasurePoint
    spec: Spec | None
    sizes: tuple[str, ...]
    size: str
    nominal_nm: int | None
    tape: Instrument | None
    tapes: tuple[Instrument, ...]
    readings: int
    people: int
    outcomes: tuple[Outcome, ...]
    lines: tuple[Line, ...]
    gaps: tuple[str, ...]
    """What is not counted, and what would make it count."""
    history: tuple[PointError, ...]

    @property
    def one_reading(self) -> Budget:
        return self.outcomes[0].budget

    @property
    def parts(self) -> tuple[Component, ...]:
        return tuple(line.part for line in self.lines)


def budget_of(
    point: MeasurePoint, *, size: str = "", tape: int | None = None, readings: int = 2, people: int = 1
) -> PointBudget:
    """The budget of a point; without a size the base size, without a tape the first in use. Seven statements.

    Raises `ImpossibleInput` for no readings, or more people than readings.
    """
    spec = Spec.objects.filter(style=point.style_id, state=Spec.State.IN_FORCE).first()
    sizes = tuple(one.label for one in spec.sizes.all()) if spec else ()
    if size not in sizes:
        size = spec.base_size if spec else ""
    column = _column(spec, size)
    here = next((girth for girth in column if girth.point.pk == point.pk), None)
    tapes = tuple(Instrument.objects.filter(retired_on=None).order_by("number"))
    usual = next((one for one in tapes if one.kind in _TAPES), tapes[0] if tapes else None)
    chosen = next((one for one in tapes if one.pk == tape), usual)
    parts, gaps = _parts(point, here, column, tape=chosen)
    outcomes = _outcomes(point, parts, readings=readings, people=people)
    single = outcomes[0].budget
    return PointBudget(
        point=point,
        spec=spec,
        sizes=sizes,
        size=size,
        nominal_nm=here.nominal_nm if here else None,
        tape=chosen,
        tapes=tapes,
        readings=readings,
        people=people,
        outcomes=outcomes,
        lines=tuple(
            Line(
                part=row.component,
                percent=row.percent,
                by_outcome=tuple(
                    (outcome, outcome.budget.rows[place].contribution_nm) for outcome in outcomes
                ),
            )
            for place, row in enumerate(single.rows)
        ),
        gaps=gaps,
        history=tuple(point.errors.select_related("study", "set_by").order_by("-pk")),
    )


def _column(spec: Spec | None, size: str) -> list[Girth]:
    """What the spec asks in one size, of every point."""
    if spec is None:
        return []
    cells = SpecCell.objects.filter(spec_point__spec=spec, size__label=size)
    return [
        Girth(cell.spec_point.point, cell.nominal_nm) for cell in cells.select_related("spec_point__point")
    ]


def _parts(
    point: MeasurePoint, here: Girth | None, column: Sequence[Girth], *, tape: Instrument | None
) -> tuple[PointParts, tuple[str, ...]]:
    error, source = point.as_reading_error(), error_source(point.known_error)
    gaps: list[str] = []
    fixed = [
        part
        for part in (
            _tape_part(tape, here.nominal_nm if here else SOME_GIRTH_NM, gaps),
            _level_part(point, here, column, gaps),
            state_part(point),
            _stated_part(error),
        )
        if part is not None
    ]
    if point.state_u_nm is None:
        gaps.append("State of the cloth: not stated on the point, so nothing is added for it.")
    reading = [budget.repeatability(error, source=source)]
    if tape is not None:
        reading.append(_division(tape))
    parts = PointParts(
        each_reading=tuple(reading),
        each_person=(budget.person(error, source=source),),
        fixed=tuple(fixed),
        placing_share=budget.placing_share(error),
    )
    return parts, tuple(gaps)


def _division(tape: Instrument) -> Component:
    """Shown, but not added: whoever repeated a reading read to the division as well."""
    part = budget.resolution(tape.division_nm)
    return replace(part, source=f"{part.source}; in the repeats already", sensitivity=0.0)


def _tape_part(tape: Instrument | None, length_nm: int, gaps: list[str]) -> Component | None:
    if tape is None:
        gaps.append("Tape: no tape is numbered yet, so nothing is added for it.")
        return None
    known = tapes_of(Shop.objects.current()).at(tape.pk, timezone.now())
    if known is None:
        gaps.append(
            f"Tape: {tape} has no class, no check and no stated uncertainty, so nothing is added for it. "
            "Lay it beside the steel rule."
        )
        return None
    segment = known.segment
    if segment.check is not None or segment.found is not None:
        return Component("tape", segment.u_nm(length_nm), f"{tape}, check against the steel rule, corrected")
    source = "stated by the shop" if not tape.accuracy_class else class_of(tape).label
    return Component("tape", segment.u_nm(length_nm), f"{tape}, {source}")


def _level_part(
    point: MeasurePoint, here: Girth | None, column: Sequence[Girth], gaps: list[str]
) -> Component | None:
    if point.kind not in GIRTHS:
        return None
    if point.height_nm is None or point.height_u_nm is None:
        gaps.append("Level: the height of the point, and how well it is found, are not stated on the point.")
        return None
    part = level_part(here, column) if here is not None else None
    if part is None and point.height_u_nm:
        gaps.append(
            "Level: no girth above or below has a height, or none stands in a spec in force, so nothing says "
            "how much a missed level matters. State the height of a neighbouring girth."
        )
    return part


def _stated_part(error: ReadingError) -> Component | None:
    if not error.fixed_sd_nm:
        return None
    return Component("other", error.fixed_sd_nm, "in every reading alike, stated by the owner")


def _outcomes(point: MeasurePoint, parts: PointParts, *, readings: int, people: int) -> tuple[Outcome, ...]:
    found = [
        Outcome("reading", "one reading", parts.of_mean()),
        Outcome(
            "mean",
            f"mean of {readings} by {people} {'person' if people == 1 else 'people'}",
            parts.of_mean(readings=readings, people=people),
        ),
    ]
    if point.is_paired and point.kind == Kind.HALF:
        found.append(Outcome("full", "full girth, left + right", parts.of_full_from_halves()))
    if point.is_paired:
        found.append(Outcome("difference", "left − right", parts.of_difference()))
    return tuple(found)
