"""The demo shop's own measuring: tapes checked, one found wrong, a check garment, a study in use."""

from __future__ import annotations

import datetime as dt
import random
from typing import TYPE_CHECKING, Final

from inventory.calc.length import Unit
from inventory.models import CheckSitting, MeasurePoint, Piece, Shop, StudyTurn
from inventory.queries.own.places import place_of_sitting, place_of_turn
from inventory.queries.plans import plans_of
from inventory.services.check_garments import (
    finish_check_sitting,
    open_check_sitting,
    set_up_check_garment,
)
from inventory.services.inspections import TypedReading
from inventory.services.own_readings import take_own_reading
from inventory.services.point_errors import use_study
from inventory.services.studies import finish_study, plan_study
from inventory.services.tape_checks import TypedLength, check_tape

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.models import Batch, Instrument, Style, User
    from inventory.queries.own.places import OwnPlace

T2_DRIFT: Final = 0.005  # how much too long tape T2 read in its last weeks, as a share
SITTINGS: Final = 20
DAYS_BETWEEN: Final = 5
GARMENT_SD_MM: Final = 0.6
STUDY_PIECES: Final = 6
STUDY_CODES: Final = ("WA",)


def check(
    tape: Instrument, rule: Instrument, *, near_mm: float, far_mm: float, by: User, at: dt.datetime
) -> None:
    """Lay a tape beside the steel rule at two lengths, where it reads too long by so much."""
    check_tape(
        instrument=tape,
        lengths=[
            TypedLength("300 mm", (f"{300 + near_mm:g} mm", f"{300 + near_mm:g} mm")),
            TypedLength("800 mm", (f"{800 + far_mm:g} mm", f"{800 + far_mm:g} mm")),
        ],
        unit=Unit.MM,
        against=rule,
        by=by,
        at=at,
    )


def keep_check_garment(
    style: Style, tape: Instrument, people: Sequence[User], *, owner: User, now: dt.datetime
) -> None:
    """A check garment of twenty sittings that says our measuring is steady."""
    chance = random.Random(20_260_401)  # noqa: S311  # a demo, not a secret
    began = now - dt.timedelta(days=DAYS_BETWEEN * SITTINGS)
    points = list(style.points.filter(code__in=("UB", "WA", "CF")))
    garment = set_up_check_garment(
        code="kept-24",
        style=style,
        points=points,
        size_label="24",
        kept_where="flat in the grey box, shelf 2",
        by=owner,
        at=began,
    )
    true_mm = {"UB": 386.0, "WA": 305.0, "CF": 304.5}
    for number in range(SITTINGS):
        at = began + dt.timedelta(days=DAYS_BETWEEN * number, hours=1)
        by = people[number % len(people)]
        opened = open_check_sitting(garment=garment, by=by, at=at, instrument=tape)
        sitting = CheckSitting.objects.select_related("garment__style", "opened_by").get(pk=opened.pk)
        _read(place_of_sitting(sitting), by, at, true_mm=true_mm, spread_mm=GARMENT_SD_MM, chance=chance)
        finish_check_sitting(sitting=sitting, by=by, at=at + dt.timedelta(minutes=4))


def run_study(batch: Batch, people: Sequence[User], *, owner: User, at: dt.datetime) -> None:
    """A finished study of how far two people agree on the waist, in use from then on."""
    chance = random.Random(20_260_402)  # noqa: S311  # as above
    study = plan_study(
        style=batch.style,
        pieces=list(Piece.objects.filter(batch=batch).order_by("number")[:STUDY_PIECES]),
        people=people,
        points=list(MeasurePoint.objects.filter(style=batch.style, code__in=STUDY_CODES)),
        rounds=2,
        seed=4711,
        unit=Shop.objects.current().display_unit,
        note="the first study of the waist",
        by=owner,
        at=at,
    )
    turns = StudyTurn.objects.filter(study=study).select_related(
        "study__style", "study_person__person", "study_piece__piece__batch__style"
    )
    plans = plans_of(batch)
    for turn in turns.order_by("round", "study_person__position", "order"):
        piece, person = turn.study_piece.piece, turn.study_person.person
        off_mm = turn.study_piece.position * 0.7 - 2 + (0.4 if person == people[0] else -0.5)
        true_mm = {
            code: plan.nominal_nm / 1_000_000 + off_mm
            for code, plan in plans.for_size(piece.size_label).items()
        }
        _read(place_of_turn(turn), person, at, true_mm=true_mm, spread_mm=0.7, chance=chance)
    ended = at + dt.timedelta(hours=2)
    finished = finish_study(study=study, by=owner, at=ended)
    use_study(study=finished, codes=STUDY_CODES, by=owner, at=ended)


def _read(
    place: OwnPlace,
    by: User,
    at: dt.datetime,
    *,
    true_mm: Mapping[str, float],
    spread_mm: float,
    chance: random.Random,
) -> None:
    for step in place.left:
        figure_mm = true_mm[step.point.code] + chance.gauss(0, spread_mm)
        message = TypedReading(
            number=0,
            code=step.point.code,
            side=step.side,
            typed=f"{round(figure_mm * 2) / 2:g}",
            unit=Unit.MM,
        )
        take_own_reading(place, message, by=by, at=at)
