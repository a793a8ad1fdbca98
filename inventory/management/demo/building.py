"""The demo scenario as rows, through the services real work goes through. Seeded: always the same shop."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.length import Unit
from inventory.management.demo import measuring, sampling, scenario
from inventory.models import Maker, Spec, Style, User
from inventory.models.people import Role
from inventory.queries.bench.asking import what_next
from inventory.queries.bench.sheet import sheet_of
from inventory.queries.plans import plans_of
from inventory.services.defects import note_defect
from inventory.services.deliveries import add_batch, receive_delivery
from inventory.services.dispositions import decide_disposition
from inventory.services.inspections import (
    answer_slip_question,
    finish_inspection,
    open_inspection,
    record_reading,
)
from inventory.services.instruments import add_instrument, retire_instrument
from inventory.services.makers import add_maker
from inventory.services.people import add_person
from inventory.services.pieces import PieceCount, number_pieces
from inventory.services.points import change_point
from inventory.services.shop import change_shop
from inventory.services.spec_defaults import entries_from_catalogue, with_defaults
from inventory.services.spec_entries import CellEntry, PointEntry
from inventory.services.specs import draft_spec, put_spec_in_force
from inventory.services.styles import start_style

if TYPE_CHECKING:
    from inventory.management.demo.scenario import DemoBatch, DemoStyle
    from inventory.models import Batch, Instrument, Piece
    from inventory.queries.bench.walk import Step

MAKER_SD_MM = 1.0  # how far a careful maker's pieces scatter about the sheet
READING_SD_MM = 0.7  # how far two readings of one person scatter
COLOURS = ("bordeaux", "ivory")


@dataclass(frozen=True)
class Bench:
    """Who measures, each with a habit (mm added to every reading), and the seeded chance."""

    people: tuple[tuple[User, float], tuple[User, float]]
    chance: random.Random

    @property
    def reader(self) -> User:
        """Who opens and finishes the sittings."""
        return self.people[0][0]


def build(now: dt.datetime) -> None:
    """Fill an empty installation with the demo shop; dates count back from `now`."""
    chance = random.Random(20_260_302)  # noqa: S311  # a demo, not a secret
    start = now - dt.timedelta(days=200)
    people = _people(start)
    owner = people["owner"]
    change_shop(by=owner, at=start, name=scenario.SHOP)
    tapes = _tapes(owner, start, now)
    makers = {
        code: add_maker(
            code=code,
            name=name,
            country=country,
            language=tongue,
            notice_window_days=days,
            by=owner,
            at=start,
        )
        for code, name, country, tongue, days in scenario.MAKERS
    }
    styles = {demo.code: _style(demo, owner, start) for demo in scenario.STYLES}
    sampling.agree(makers["maple"], styles["ledger"], owner=owner, at=start)
    bench = Bench(people=((people["inspector"], 0.2), (people["second"], -0.3)), chance=chance)
    readers = [person for person, _ in bench.people]
    built: list[Batch] = []
    for demo in scenario.BATCHES:
        if len(built) == scenario.BATCHES_BEFORE_THE_STUDY:
            at = now - dt.timedelta(days=scenario.STUDY_DAYS_AGO)
            measuring.run_study(built[0], readers, owner=owner, at=at)
            built[0].style.refresh_from_db()
        arrived = (now - dt.timedelta(days=demo.days_ago)).replace(hour=8, minute=40)
        built.append(_batch(demo, makers[demo.maker], styles[demo.style], arrived, people))
        _measure(built[-1], demo, people, tapes, bench)
    measuring.keep_check_garment(styles["rosewood"], tapes["T1"], readers, owner=owner, now=now)
    found = now - dt.timedelta(days=scenario.T2_FOUND_WRONG)
    wrong = 2 * measuring.T2_DRIFT  # by then; in the weeks before it was half way there
    measuring.check(
        tapes["T2"], tapes["R1"], near_mm=300 * wrong, far_mm=800 * wrong, by=bench.reader, at=found
    )
    retire_instrument(instrument=tapes["T2"], on=found.date(), by=owner, at=found)


def _tapes(owner: User, start: dt.datetime, now: dt.datetime) -> dict[str, Instrument]:
    """The tapes by number, each checked beside the steel rule."""
    tapes = {
        number: add_instrument(
            number=number, kind=kind, description=words, accuracy_class=accuracy, by=owner, at=start
        )
        for number, kind, words, accuracy in scenario.TAPES
    }
    good = now - dt.timedelta(days=scenario.T2_FOUND_GOOD)
    for number, at in (("T1", start), ("T2", start), ("T3", start), ("T2", good)):
        measuring.check(tapes[number], tapes["R1"], near_mm=0, far_mm=0, by=owner, at=at)
    return tapes


def _people(at: dt.datetime) -> dict[str, User]:
    first, *others = scenario.PEOPLE
    owner = User.objects.create_user(
        first[0], password=scenario.PASSWORD, first_name=first[1], last_name=first[2], role=Role.OWNER
    )
    people = {first[0]: owner}
    for name, given, family, role in others:
        people[name] = add_person(
            username=name,
            first_name=given,
            last_name=family,
            role=role,
            password=scenario.PASSWORD,
            by=owner,
            at=at,
        )
    return people


def _style(demo: DemoStyle, owner: User, at: dt.datetime) -> Style:
    style = start_style(
        code=demo.code,
        name=demo.name,
        family=demo.family,
        point_codes=tuple(demo.nominals_mm),
        contains_metal=demo.contains_metal,
        by=owner,
        at=at,
    )
    for point in style.points.filter(code__in=demo.seams):
        change_point(
            point=point,
            seams_crossed=demo.seams[point.code],
            height_nm=demo.heights_mm[point.code] * 1_000_000,
            by=owner,
            at=at,
        )
    style.refresh_from_db()
    usual = entries_from_catalogue(style, unit=Unit.MM)
    entries = {
        code: with_defaults(
            PointEntry(
                basis="full" if code in demo.basis_full else "",
                step=f"{step} mm",
                cells={
                    size: CellEntry(nominal=f"{nominal + place * step} mm")
                    for place, size in enumerate(demo.sizes)
                },
            ),
            usual[code],
        )
        for code, (nominal, step) in demo.nominals_mm.items()
    }
    spec = draft_spec(
        style=style,
        unit_of_record=Unit.MM.value,
        size_labels=demo.sizes,
        base_size=demo.sizes[0],
        entries=entries,
        reason="first sheet, agreed with the makers",
        by=owner,
        at=at,
    )
    put_spec_in_force(spec=Spec.objects.get(pk=spec.pk), by=owner, at=at)
    return style


def _batch(
    demo: DemoBatch, maker: Maker, style: Style, arrived: dt.datetime, people: dict[str, User]
) -> Batch:
    delivery = receive_delivery(
        maker=maker,
        arrived_at=arrived,
        order_reference=demo.order,
        cartons=2,
        by=people["inspector"],
        at=arrived,
    )
    batch = add_batch(delivery=delivery, style=style, by=people["inspector"], at=arrived)
    sizes = list(plans_of(batch).by_size)
    counts = [0] * len(sizes)
    for place in range(demo.pieces):
        counts[place % len(sizes)] += 1
    number_pieces(
        batch=batch,
        counts=[
            PieceCount(size_label=size, colour=COLOURS[place % 2], count=count)
            for place, (size, count) in enumerate(zip(sizes, counts, strict=True))
            if count
        ],
        by=people["inspector"],
        at=arrived,
    )
    return batch


def _measure(
    batch: Batch, demo: DemoBatch, people: dict[str, User], tapes: dict[str, Instrument], bench: Bench
) -> None:
    begin = batch.delivery.arrived_at + dt.timedelta(hours=4)
    if demo.sampled:
        pieces = sampling.drawn_pieces(batch, by=bench.reader, at=begin)
    else:
        pieces = list(batch.pieces.order_by("number")[: demo.measured])
    pair = ("T1", "T2" if demo.days_ago > scenario.T2_FOUND_WRONG else "T3")
    for place, piece in enumerate(pieces):
        at = begin + dt.timedelta(minutes=6 * place)
        _measure_piece(piece, demo, place=place, tape=tapes[pair[place % 2]], at=at, bench=bench)
        if place == 1:
            note_defect(
                batch=batch,
                piece=piece,
                kind="loose thread ends",
                severity="minor",
                zone="B",
                note="at the lower edge",
                by=bench.reader,
                at=at,
            )
    if demo.sampled:
        sampling.decide(batch, owner=people["owner"], at=begin + dt.timedelta(days=1))
    if demo.days_ago > 20:
        _decide(batch, people["owner"], begin + dt.timedelta(days=1))


def _measure_piece(
    piece: Piece, demo: DemoBatch, *, place: int, tape: Instrument, at: dt.datetime, bench: Bench
) -> None:
    """Measure as the bench asks for it: the walk once, then repeats of what is too close to call.

    The garment has one true figure a side; each reading of it scatters anew, and each person has a habit.
    """
    sitting = open_inspection(piece=piece, by=bench.reader, at=at, instrument=tape)
    true_mm: dict[tuple[str, str], float] = {
        (code, side): plan.nominal_nm / 1_000_000
        + demo.off(code, side, place)
        + bench.chance.gauss(0, MAKER_SD_MM)
        for code, plan in plans_of(piece.batch).for_size(piece.size_label).items()
        for side in plan.sides
    }
    if place == demo.stopped_short:  # on the limit, where one reading never tells
        waist = plans_of(piece.batch).for_size(piece.size_label)["WA"]
        true_mm |= {("WA", side): (waist.nominal_nm + waist.plus_nm) / 1_000_000 for side in waist.sides}
    long_tape = measuring.T2_DRIFT if tape.number == "T2" and demo.days_ago < scenario.T2_FOUND_GOOD else 0.0

    def read(step: Step, *, nth: int) -> None:
        # What was close is read again by other hands in turn, as the practice is.
        person, habit_mm = bench.people[(nth - 1) % 2]
        figure_mm = true_mm[step.column] * (1 + long_tape) + habit_mm + bench.chance.gauss(0, READING_SD_MM)
        recorded = record_reading(
            inspection=sitting,
            point=step.point,
            side=step.side,
            typed=f"{round(figure_mm * 2) / 2:g}",
            by=person,
            at=at,
        )
        for question in recorded.questions:
            answer_slip_question(question=question, answer="kept", by=person, at=at)

    for step in sheet_of(piece.number).walk:
        read(step, nth=1)
    if place != demo.stopped_short:
        while (asked := what_next(sheet_of(piece.number))).step is not None:
            read(asked.step, nth=asked.nth)
    finish_inspection(inspection=sitting, by=bench.reader, at=at)


def _decide(batch: Batch, owner: User, at: dt.datetime) -> None:
    for piece in batch.pieces.filter(verdicts__is_current=True).prefetch_related("verdicts"):
        judged = piece.verdicts.get(is_current=True)
        if judged.shelf == "in":
            decide_disposition(piece=piece, decision="release", by=owner, at=at)
        elif judged.claim == "out":
            reason = f"{judged.worst_point} out of tolerance"
            decide_disposition(piece=piece, decision="return", reason=reason, by=owner, at=at)
        elif judged.shelf == "out":
            # Out for the shelf, but not by enough to be proved to the maker.
            reason = f"{judged.worst_point} larger than the chart says"
            decide_disposition(piece=piece, decision="second", reason=reason, by=owner, at=at)


def is_empty() -> bool:
    """Whether nobody has worked here yet."""
    return not (User.objects.exists() or Maker.objects.exists() or Style.objects.exists())
