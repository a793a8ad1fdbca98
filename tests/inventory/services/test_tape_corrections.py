"""What a tape's checks do to verdicts: at the bench, and again once the tape is found wrong."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.access import NotAllowed
from inventory.models import Inspection, Instrument, Job, PieceVerdict
from inventory.models.people import Role
from inventory.queries.bench.asking import findings_at
from inventory.queries.bench.sheet import sheet_of
from inventory.queries.own.doubts import batches_in_doubt, doubts_of_sitting, tapes_in_doubt
from inventory.queries.tape_corrections import tapes_of
from inventory.services.importing.verifying import verify_verdicts
from inventory.services.jobs import claim_job
from inventory.services.judging import judge_inspection
from inventory.services.rejudging import NothingToJudgeAgain, carry_out_rejudging, request_rejudging
from tests.factories import (
    MM,
    NOW,
    make_batch,
    make_inspection,
    make_instrument,
    make_piece,
    make_reading,
    make_tape_check,
    make_user,
    measure_all,
    the_shop,
)

pytestmark = pytest.mark.django_db

HOUR = dt.timedelta(hours=1)
SHORT = {(code, side): -4.0 for code in ("WA", "UB") for side in "LR"}


def read_with(
    tape: Instrument,
    off_mm: dict[tuple[str, str], float] | None = None,
    *,
    but_right_waist: Instrument | None = None,
) -> Inspection:
    """A piece read in full, at NOW, with this tape."""
    inspection = make_inspection(make_piece(make_batch()), instrument=tape)
    measure_all(inspection, off_mm)
    if but_right_waist is not None:
        first = inspection.readings.get(point__code="WA", side="R")
        make_reading(
            inspection, "WA", "R", mm=355, instrument=but_right_waist, corrects=first, reason="again"
        )
    return inspection


def judged(inspection: Inspection, *, at: dt.datetime = NOW) -> PieceVerdict:
    return judge_inspection(inspection=inspection, by=inspection.opened_by, at=at)


def left_waist(verdict: PieceVerdict) -> int:
    return verdict.as_findings()["WA"][0].value_nm


def test_without_a_check_nothing_changes() -> None:
    tape, other = make_instrument(), make_instrument()
    assert judged(read_with(tape)).corrections is None
    make_tape_check(other, near_mm=1, far_mm=1, at=NOW - HOUR)
    verdict = judged(read_with(tape))
    assert (verdict.corrections, left_waist(verdict)) == (None, 355 * MM)


def test_a_verdict_takes_off_what_the_newest_check_found_and_says_so() -> None:
    tape = make_instrument(number="T1")
    make_tape_check(tape, near_mm=1, far_mm=1, at=NOW - 3 * HOUR)
    check = make_tape_check(tape, near_mm=0.5, far_mm=0.5, at=NOW - HOUR)
    make_tape_check(tape, near_mm=0, far_mm=0, at=NOW + HOUR)
    inspection = read_with(tape)
    verdict = judged(inspection, at=NOW + 2 * HOUR)
    assert left_waist(verdict) == 354_500_000
    assert verdict.corrections is not None
    (entry,) = verdict.corrections["tapes"]
    assert (entry["number"], entry["check"], entry["low_nm"], entry["high_nm"]) == (
        "T1", check.pk, -500_000, -500_000,
    )  # fmt: skip
    assert set(inspection.readings.values_list("length_nm", flat=True)) >= {355 * MM}


def test_what_the_check_leaves_uncertain_is_in_every_reading_but_not_in_left_against_right() -> None:
    tape = make_instrument()
    plain = judged(read_with(tape)).as_findings()["WA"]
    check = make_tape_check(tape, at=NOW - HOUR)
    found = judged(read_with(tape)).as_findings()["WA"]
    assert check.correction_u_nm is not None
    for before, now in zip(plain[:2], found[:2], strict=True):
        # 1 mm marks: u of the check is at least 1 mm/√12 = 0.29 mm, to the next 0.01 mm.
        assert now.u_nm**2 == pytest.approx(before.u_nm**2 + 300_000**2, rel=0.08)
        assert now.u_nm > before.u_nm
    assert found[-1].u_nm == plain[-1].u_nm


def test_a_tape_of_a_class_adds_its_promise_where_it_was_never_checked() -> None:
    plain = judged(read_with(make_instrument())).as_findings()["WA"][0]
    classed = judged(read_with(make_instrument(accuracy_class="II")))
    # 0.5 mm / √3 = 0.2887 mm (Directive 2014/32/EU, MI-008, class II), rounded up to 0.29 mm.
    now = classed.as_findings()["WA"][0]
    assert now.u_nm == pytest.approx((plain.u_nm**2 + 290_000**2) ** 0.5, abs=2)
    assert classed.corrections is None


def test_two_tapes_at_one_point_count_in_left_against_right_too() -> None:
    one, other = make_instrument(), make_instrument()
    for tape in (one, other):
        make_tape_check(tape, at=NOW - HOUR)
    alike = judged(read_with(one)).as_findings()["WA"][-1]
    inspection = read_with(one, but_right_waist=other)
    assert judged(inspection).as_findings()["WA"][-1].u_nm > alike.u_nm


def test_the_bench_shows_what_the_verdict_will_say_and_asks_no_more_statements_for_it() -> None:
    tape = make_instrument()
    make_tape_check(tape, near_mm=1, far_mm=2, at=NOW - HOUR)
    inspection = read_with(tape, SHORT)
    tapes_of(the_shop())
    with CaptureQueriesContext(connection) as asked:
        sheet = sheet_of(inspection.piece.number)
        found = {code: findings_at(sheet, code) for code in ("UB", "WA")}
    assert not [query for query in asked.captured_queries if "tapecheck" in query["sql"]]
    stored = judged(inspection).as_findings()
    assert found == {code: stored[code] for code in found}


def test_a_stored_verdict_is_worked_out_again_with_its_own_corrections() -> None:
    tape = make_instrument()
    make_tape_check(tape, near_mm=1, far_mm=2.5, at=NOW - HOUR)
    judged(read_with(tape, SHORT))
    make_tape_check(tape, near_mm=5, far_mm=5, at=NOW + HOUR)
    assert verify_verdicts() == (1, [])


def found_wrong(tape: Instrument) -> Inspection:
    """A piece read 4 mm too short by a tape that was good an hour before and 8 mm short an hour later."""
    make_tape_check(tape, at=NOW - HOUR)
    inspection = read_with(tape, {("WA", "L"): -9, ("WA", "R"): -9})
    judged(inspection)
    make_tape_check(tape, near_mm=-8, far_mm=-8, at=NOW + HOUR)
    return inspection


def test_readings_since_the_last_good_check_are_marked_and_their_batch_is_named() -> None:
    tape = make_instrument(number="T7")
    inspection = found_wrong(tape)
    shop, batch = the_shop(), inspection.piece.batch
    (said,) = doubts_of_sitting(inspection, shop=shop)
    assert said.startswith("read with tape T7, found wrong on 2 Mar")
    (doubt,) = tapes_in_doubt(shop=shop, batch=batch)
    assert doubt.pieces == 1
    assert tapes_in_doubt(shop=shop, batch=make_batch()) == []
    assert [(one.batch, one.pieces) for one in batches_in_doubt(tape, shop=shop)] == [(batch, 1)]
    assert doubts_of_sitting(read_with(make_instrument()), shop=the_shop()) == ()


def test_judging_again_takes_the_error_to_lie_anywhere_between_the_two_checks() -> None:
    tape, owner = make_instrument(), make_user(Role.OWNER)
    inspection = found_wrong(tape)
    before = PieceVerdict.objects.get(is_current=True)
    assert before.shelf == "out"
    job = request_rejudging(instrument=tape, by=owner)
    assert request_rejudging(instrument=tape, by=owner) == job
    taken = claim_job(job.pk, NOW + 2 * HOUR)
    assert taken is not None
    result = carry_out_rejudging(taken)
    now = PieceVerdict.objects.get(is_current=True)
    assert left_waist(now) == 350 * MM  # 346 mm read, and 4 mm too short in the middle
    # Half-width 4 mm: rectangular, 4/√3 = 2.31 mm, beside the reading's own 1.5 mm.
    assert now.as_findings()["WA"][0].u_nm == pytest.approx((2.31**2 + 1.5**2) ** 0.5 * MM, rel=0.02)
    assert now.shelf == "close"
    assert result["pieces"] == 1
    assert result["changed"] == [
        {
            "number": inspection.piece.number,
            "piece": inspection.piece.label,
            "shelf": ["out", "close"],
            "claim": [before.claim, now.claim],
        }
    ]
    assert PieceVerdict.objects.count() == 2
    assert not tapes_in_doubt(shop=the_shop())
    with pytest.raises(NothingToJudgeAgain, match="judged again since"):
        request_rejudging(instrument=tape, by=owner)


def test_a_piece_of_another_size_by_now_is_left_to_be_measured_again() -> None:
    tape = make_instrument()
    inspection = found_wrong(tape)
    inspection.piece.size_label = "26"
    inspection.piece.save()
    job = request_rejudging(instrument=tape, by=make_user(Role.OWNER))
    taken = claim_job(job.pk, NOW + 2 * HOUR)
    assert taken is not None
    assert carry_out_rejudging(taken)["left"] == [inspection.piece.label]
    assert PieceVerdict.objects.count() == 1


def test_an_inspector_does_not_ask_for_judging_again() -> None:
    tape = make_instrument()
    found_wrong(tape)
    with pytest.raises(NotAllowed):
        request_rejudging(instrument=tape, by=make_user())
    assert not Job.objects.exists()
