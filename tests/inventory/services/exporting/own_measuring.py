"""What a shop knows of its own measuring, and how it samples: for the shop with some of everything."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from inventory.models import (
    Batch,
    BatchDecision,
    BatchSampling,
    CheckReading,
    Defect,
    DefectKind,
    Instrument,
    MeasurePoint,
    Shop,
    Study,
    StudyReading,
    StudyTurn,
    User,
)
from inventory.queries.own.places import OwnPlace, place_of_sitting, place_of_turn
from inventory.services.check_garments import (
    finish_check_sitting,
    open_check_sitting,
    set_up_check_garment,
)
from inventory.services.inspections import TypedReading
from inventory.services.own_readings import take_own_reading
from inventory.services.point_errors import state_error, use_study
from inventory.services.sampling.draws import draw_sample
from inventory.services.sampling.notes import note_switching
from inventory.services.sampling.schemes import set_scheme
from inventory.services.studies import finish_study, plan_study
from tests.factories import MM, NOW, make_instrument, make_piece, make_tape_check, make_user

BEFORE = NOW - dt.timedelta(days=1)


def check_the_tape(tape: Instrument, owner: User) -> None:
    """The tape reads long, so what is judged with it is corrected."""
    make_tape_check(tape, near_mm=0.5, far_mm=1.25, at=BEFORE, by=owner)


def watch_ourselves(batch: Batch, owner: User) -> None:
    """A check garment read once and corrected, a finished study in use, a stated error."""
    points = list(batch.style.points.filter(code__in=("WA", "CF")))
    garment = set_up_check_garment(
        code="kept-1", style=batch.style, points=points, size_label="24", by=owner, at=NOW
    )
    sitting = open_check_sitting(garment=garment, by=owner, at=NOW, instrument=make_instrument(number="T-8"))
    _read(place_of_sitting(sitting), owner, off=0)
    wrong = CheckReading.objects.get(point__code="WA", side="L")
    message = TypedReading(
        number=0, code="WA", side="L", typed="360", corrects=wrong.pk, reason="read at the wrong height"
    )
    take_own_reading(place_of_sitting(sitting), message, by=owner, at=NOW)
    finish_check_sitting(sitting=sitting, by=owner, at=NOW)
    _study(batch, points, owner)
    front = MeasurePoint.objects.get(style=batch.style, code="CF")
    state_error(
        point=front,
        repeat_sd_nm=MM,
        person_sd_nm=MM,
        fixed_sd_nm=0,
        reason="agreed with the maker",
        by=owner,
        at=NOW,
    )


def know_the_kind(defect: Defect) -> None:
    """The defect is of a kind that the shop wrote down itself."""
    defect.known_kind = DefectKind.objects.create(
        family="of our own", name="burr we know", severity="critical"
    )
    defect.save()


def _study(batch: Batch, points: list[MeasurePoint], owner: User) -> None:
    study = plan_study(
        style=batch.style,
        pieces=[make_piece(batch) for _ in range(5)],
        people=(owner, make_user(username="bea")),
        points=points,
        rounds=2,
        seed=7,
        unit="mm",
        by=owner,
        at=NOW,
    )
    turns = StudyTurn.objects.filter(study=study).select_related(
        "study__style", "study_person__person", "study_piece__piece__batch__style"
    )
    for turn in turns:
        off = turn.study_piece.position + (turn.round == 1) + (turn.study_person.person_id == owner.pk)
        _read(place_of_turn(turn), turn.study_person.person, off=off)
    reading = StudyReading.objects.filter(taken_by=owner, point__code="WA").first()
    assert reading is not None
    message = TypedReading(
        number=0, code="WA", side=reading.side, typed="357", corrects=reading.pk, reason="slipped"
    )
    turn = turns.get(pk=reading.turn_id)
    take_own_reading(place_of_turn(turn), message, by=owner, at=NOW)
    finish_study(study=study, by=owner, at=NOW)
    use_study(study=Study.objects.get(pk=study.pk), codes=["WA"], by=owner, at=NOW)


def _read(place: OwnPlace, by: User, *, off: int) -> None:
    for step in place.left:
        typed = f"{(355 if step.point.code == 'WA' else 305) + off}"
        message = TypedReading(number=0, code=step.point.code, side=step.side, typed=typed)
        take_own_reading(place, message, by=by, at=NOW)


def sample(batch: Batch, owner: User) -> None:
    """Attributes agreed on with the maker, a sample drawn, a decision, and a note for the switching."""
    Shop.objects.update(measure_all_up_to=2)
    set_scheme(
        maker=batch.delivery.maker,
        style=batch.style,
        kind="attributes",
        aql_major=Decimal("2.5"),
        aql_minor=Decimal("4"),
        reason="agreed",
        by=owner,
        at=NOW,
    )
    draw_sample(batch=batch, seed="11", by=owner, at=NOW)
    BatchDecision.objects.create(
        sampling=BatchSampling.objects.get(batch=batch),
        outcome="accepted",
        document={"words": "none found"},
        decided_by=owner,
        decided_at=NOW,
    )
    note_switching(
        maker=batch.delivery.maker,
        style=batch.style,
        kind="steady",
        note="same cutter for a year",
        by=owner,
        at=NOW,
    )
