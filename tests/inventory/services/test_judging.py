"""A stored verdict: the worst point decides, and it keeps all that it was judged on."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.access import NotAllowed
from inventory.calc.conformity import Verdict
from inventory.calc.plan import Aspect
from inventory.models import AuditRow, DecisionRule, JudgementBasis, PieceVerdict, Shop
from inventory.models.people import Role
from inventory.services.judging import NotYetMeasured, judge_inspection
from inventory.services.points import retire_point
from tests.factories import (
    LACED,
    MM,
    NOW,
    make_batch,
    make_inspection,
    make_piece,
    make_reading,
    make_spec,
    make_user,
    measure_all,
)

pytestmark = pytest.mark.django_db


def judged(off_mm: dict[tuple[str, str], float] | None = None, *, size_label: str = "24") -> PieceVerdict:
    inspection = make_inspection(make_piece(size_label=size_label))
    measure_all(inspection, off_mm)
    return judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)


def test_a_piece_at_its_nominals_is_in_tolerance_by_both_rules() -> None:
    verdict = judged()
    assert (verdict.shelf, verdict.claim) == ("in", "in")
    assert verdict.is_current
    assert not verdict.size_suspected


def test_the_worst_point_decides_and_is_named() -> None:
    verdict = judged({("CF", "L"): 12, ("CF", "R"): 12})
    assert (verdict.shelf, verdict.claim, verdict.worst_point) == ("out", "out", "CF")


def test_what_is_out_on_the_shelf_need_not_be_provable_against_the_maker() -> None:
    # One reading of WA: u² = 1.0² + (1.5² − 1.0²) = 1.5² mm². Limits ±6: the shelf rule says out above
    # 6 + 1.645 × 1.5 = 8.47 mm, the claim rule above 6 + 2 × 1.5 = 9 mm.
    verdict = judged({("WA", "L"): 8.7, ("WA", "R"): 5})
    assert (verdict.shelf, verdict.claim) == ("out", "close")


def test_left_against_right_has_its_own_verdict() -> None:
    # Both halves within ±6, 10 mm apart: more than the 6 mm limit and its guard band 1.645 × √2 × 1 mm.
    verdict = judged({("WA", "L"): 5, ("WA", "R"): -5})
    pair = next(f for f in verdict.as_findings()["WA"] if f.aspect is Aspect.PAIR)
    assert pair.value_nm == 10 * MM
    assert pair.shelf is Verdict.OUT
    assert verdict.shelf == "out"


def test_a_piece_that_fits_the_next_size_is_suspected_to_wear_the_wrong_label() -> None:
    steps = {(p.code, side): float(p.step_mm) for p in LACED for side in ("L", "R")}
    verdict = judged(steps)
    assert verdict.size_suspected
    assert verdict.fits_size == "26"
    assert verdict.size_margin_nm == 5 * MM  # at the tightest point, the front length with its ±5 mm


def test_a_piece_that_fits_no_size_is_not_given_one() -> None:
    verdict = judged({("WA", "L"): 12, ("WA", "R"): 12})
    assert (verdict.size_suspected, verdict.fits_size, verdict.size_margin_nm) == (False, "", None)


def test_a_piece_is_not_judged_while_a_reading_is_missing() -> None:
    inspection = make_inspection()
    make_reading(inspection, "WA", "L")
    with pytest.raises(NotYetMeasured, match=r"Still to read: UB L, UB R, WA R, CF L, CF R"):
        judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    assert not PieceVerdict.objects.exists()


def test_a_corrected_reading_does_not_count() -> None:
    inspection = make_inspection()
    measure_all(inspection, {("WA", "L"): 40})
    wrong = inspection.readings.get(point__code="WA", side="L")
    make_reading(inspection, "WA", "L", mm=355, corrects=wrong, reason="read at the wrong height")
    verdict = judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    assert verdict.shelf == "in"


def test_judging_again_adds_a_verdict_and_keeps_the_old_one() -> None:
    inspection = make_inspection()
    measure_all(inspection)
    first = judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    second = judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    first.refresh_from_db()
    assert (first.is_current, second.is_current) == (False, True)
    assert first.basis == second.basis


def test_pieces_of_one_size_judged_alike_share_their_basis() -> None:
    batch = make_batch(make_spec())
    for _ in range(3):
        inspection = make_inspection(make_piece(batch))
        measure_all(inspection)
        judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    assert JudgementBasis.objects.count() == 1


def test_a_verdict_can_be_read_back_with_its_limits_after_the_rule_has_changed() -> None:
    verdict = judged({("WA", "L"): 7})
    stricter = DecisionRule.objects.create(
        code="shelf-guarded", version=2, purpose="shelf", name="Stricter", multiplier=Decimal(3)
    )
    Shop.objects.update(shelf_rule=stricter)
    kept = PieceVerdict.objects.select_related("basis").get(pk=verdict.pk)
    left = next(f for f in kept.as_findings()["WA"] if f.aspect is Aspect.LEFT)
    assert (left.lower_nm, left.upper_nm, left.nominal_nm) == (349 * MM, 361 * MM, 355 * MM)
    assert left.shelf_guard_nm == pytest.approx(1.645 * 1.5 * MM, abs=2)
    assert kept.basis.document["shelf_rule"]["version"] == 1


def test_informational_points_are_read_but_no_verdict_hangs_on_them() -> None:
    points = [*LACED, replace(LACED[2], code="TH", name="thickness", sides="single", informational=True)]
    inspection = make_inspection(make_piece(make_batch(make_spec(points=points))))
    measure_all(inspection, {("TH", "S"): 100})
    verdict = judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    assert verdict.shelf == "in"
    assert "TH" not in verdict.findings


def test_a_point_retired_since_still_decides_for_a_batch_ordered_with_it() -> None:
    inspection = make_inspection()
    measure_all(inspection, {("CF", "L"): 12, ("CF", "R"): 12})
    point = inspection.piece.batch.style.points.get(code="CF")
    retire_point(point=point, by=make_user(Role.OWNER), at=NOW)
    verdict = judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    assert (verdict.shelf, verdict.worst_point) == ("out", "CF")


def test_judging_leaves_an_audit_row() -> None:
    verdict = judged()
    row = AuditRow.objects.get(deed="judge piece")
    assert (row.subject_id, row.who_id) == (verdict.piece_id, verdict.judged_by_id)


def test_a_viewer_may_not_judge() -> None:
    inspection = make_inspection()
    measure_all(inspection)
    with pytest.raises(NotAllowed):
        judge_inspection(inspection=inspection, by=make_user(Role.VIEWER), at=NOW)
