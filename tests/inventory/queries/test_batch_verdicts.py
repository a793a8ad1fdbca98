"""The map and the statistics of a batch, read from the stored rows of its verdicts."""

from __future__ import annotations

import statistics
from typing import TYPE_CHECKING

import pytest

from inventory.models import Batch, Piece
from inventory.queries import verdict_cells
from inventory.queries.batch_todo import batch_todo
from inventory.queries.batch_verdicts import BatchPicture, batch_picture
from inventory.queries.heaping import heaping_of
from inventory.services.judging import judge_inspection
from tests import factories
from tests.closeness import same_float
from tests.factories import MM, NOW

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pytest_django import DjangoAssertNumQueries

pytestmark = pytest.mark.django_db


def _judged(batch: Batch, off_mm: Mapping[tuple[str, str], float] | None = None) -> Piece:
    piece = factories.make_piece(batch)
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, off_mm)
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    return piece


def _point(picture: BatchPicture, code: str) -> int:
    return picture.codes.index(code)


def test_the_map_has_a_line_for_each_piece_and_a_column_for_each_point() -> None:
    batch = factories.make_batch()
    judged, waiting = _judged(batch), factories.make_piece(batch)
    picture = batch_picture(batch)
    assert picture.codes == ("UB", "WA", "CF")
    assert [line.label for line in picture.lines] == [judged.label, waiting.label]
    assert [line.shelf for line in picture.lines] == ["in", ""]
    assert picture.lines[1].cells == (None, None, None)


def test_a_cell_shows_the_worst_aspect_with_its_deviation_and_room() -> None:
    batch = factories.make_batch()
    _judged(batch, {("WA", "L"): 20, ("WA", "R"): 19})
    picture = batch_picture(batch)
    cell = picture.lines[0].cells[_point(picture, "WA")]
    assert cell is not None
    assert (cell.shelf, cell.aspect, cell.deviation_nm) == ("out", "L", 20 * MM)
    assert (cell.minus_nm, cell.plus_nm) == (6 * MM, 6 * MM)


def test_a_difference_between_the_sides_can_be_the_worst() -> None:
    batch = factories.make_batch()
    _judged(batch, {("UB", "L"): 6, ("UB", "R"): -6})
    picture = batch_picture(batch)
    cell = picture.lines[0].cells[_point(picture, "UB")]
    assert cell is not None
    assert (cell.shelf, cell.aspect, cell.deviation_nm, cell.plus_nm) == ("out", "D", 12 * MM, 6 * MM)


def test_a_half_that_does_not_decide_is_not_the_worst() -> None:
    recipe = factories.PointRecipe("HW", "hem", basis="full", tolerance_mm=12, asymmetry_mm=None)
    batch = factories.make_batch(factories.make_spec(points=(recipe,)))
    _judged(batch, {("HW", "L"): 20, ("HW", "R"): -20})
    (cell,) = batch_picture(batch).lines[0].cells
    assert cell is not None
    assert (cell.shelf, cell.aspect, cell.deviation_nm) == ("in", "F", 0)


def test_shift_spread_and_bias_agree_with_the_textbook_on_the_readings() -> None:
    batch = factories.make_batch()
    left, right = [3.0, 1.0, 4.0, 2.0], [1.0, 0.0, 1.0, 2.0]
    for one, other in zip(left, right, strict=True):
        _judged(batch, {("WA", "L"): one, ("WA", "R"): other})
    picture = batch_picture(batch)
    point = picture.points[_point(picture, "WA")]
    means = [(one + other) / 2 * MM for one, other in zip(left, right, strict=True)]
    differences = [(one - other) * MM for one, other in zip(left, right, strict=True)]
    assert point.shift is not None
    assert point.bias is not None
    assert point.shift.count == point.bias.count == 4
    assert same_float(point.shift.mean_nm, statistics.fmean(means))
    assert same_float(point.shift.sd_nm or 0, statistics.stdev(means))
    assert same_float(point.bias.mean_nm, statistics.fmean(differences))
    assert same_float(point.bias.doubt_nm or 0, 2 * statistics.stdev(differences) / 2)


def test_swapping_the_sides_turns_the_bias_round() -> None:
    batch, swapped = factories.make_batch(), factories.make_batch()
    _judged(batch, {("WA", "L"): 4})
    _judged(swapped, {("WA", "R"): 4})
    one, other = (batch_picture(of).points[1].bias for of in (batch, swapped))
    assert one is not None
    assert other is not None
    assert one.mean_nm == -other.mean_nm == 4 * MM


def test_of_a_single_piece_there_is_a_mean_but_no_spread() -> None:
    batch = factories.make_batch()
    _judged(batch, {("WA", "L"): 2, ("WA", "R"): 2})
    shift = batch_picture(batch).points[1].shift
    assert shift is not None
    assert (shift.mean_nm, shift.sd_nm, shift.doubt_nm, shift.stands_out) == (2 * MM, None, None, False)


def test_of_no_piece_there_are_no_figures() -> None:
    picture = batch_picture(factories.make_batch())
    assert (picture.lines, [point.shift for point in picture.points]) == ((), [None, None, None])


def test_the_numbers_of_pieces_per_verdict_are_those_of_the_point() -> None:
    batch = factories.make_batch()
    _judged(batch)
    _judged(batch, {("WA", "L"): 20, ("WA", "R"): 20})
    verdicts = batch_picture(batch).points[1].verdicts
    assert (verdicts["in"], verdicts["out"]) == (1, 1)


def test_what_is_to_do_names_the_pieces() -> None:
    batch = factories.make_batch(pieces_announced=6)
    good = _judged(batch)
    bad = _judged(batch, {("WA", "L"): 20, ("WA", "R"): 20})
    begun, waiting = factories.make_piece(batch), factories.make_piece(batch)
    factories.make_inspection(begun)
    factories.make_defect(good, severity="critical")
    todo = batch_todo(batch, batch_picture(batch).lines)
    assert todo.not_numbered == 2
    assert todo.to_measure.first == (waiting.label,)
    assert todo.open_sittings.first == (begun.label,)
    assert (todo.out.first, todo.to_release.first) == ((bad.label,), (good.label,))
    assert (todo.grave_defects, todo.critical_defects, todo.is_empty) == (1, 1, False)


def test_a_decided_batch_has_nothing_to_do() -> None:
    batch = factories.make_batch()
    _judged(batch)
    batch.pieces.update(standing="release")
    assert batch_todo(batch, batch_picture(batch).lines).is_empty


def test_readings_on_the_nominal_are_a_heap() -> None:
    batch = factories.make_batch()
    for _ in range(5):
        _judged(batch)
    (found,) = heaping_of(batch)
    assert (found.unit, found.found.readings, found.found.exact_count) == ("mm", 30, 30)
    assert found.found.slip is not None


def test_a_steady_point_beside_an_unsteady_one_is_no_heap() -> None:
    """Waist and underbust within 1 mm, centre front off by 30: pooled, the steady ones hit too often."""
    batch = factories.make_batch()
    for piece in range(12):
        near = {(code, side): (-1, 0, 1, 0)[piece % 4] for code in ("WA", "UB") for side in "LR"}
        far = {("CF", side): 3 * (piece % 12) * (-1) ** piece + 1 for side in "LR"}
        _judged(batch, near | far)
    (found,) = heaping_of(batch)
    assert found.found.readings == 72
    assert found.found.slip is None


def test_a_corrected_reading_does_not_count_for_heaps() -> None:
    batch = factories.make_batch()
    piece = _judged(batch)
    reading = piece.inspections.get().readings.first()
    assert reading is not None
    factories.make_reading(
        reading.inspection, reading.point.code, reading.side, mm=401, corrects=reading, reason="slipped"
    )
    (found,) = heaping_of(batch)
    assert found.found.readings == 6


def test_the_number_of_statements_does_not_grow_with_the_pieces(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    batch = factories.make_batch()
    _judged(batch)
    batch_picture(batch)  # the spec's plans are in memory from here on
    for _ in range(2):
        for _ in range(4):
            _judged(batch)
        with django_assert_num_queries(3):
            picture = batch_picture(batch)
        with django_assert_num_queries(1):  # nothing was judged since
            assert batch_picture(batch) == picture
        with django_assert_num_queries(3):
            batch_todo(batch, picture.lines)
        with django_assert_num_queries(1):
            heaping_of(batch)


def test_what_was_kept_of_a_verdict_gives_way_to_the_next_verdict() -> None:
    batch = factories.make_batch()
    piece = _judged(batch)
    assert batch_picture(batch).points[1].verdicts == {"in": 1}
    again = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(again, {("WA", "L"): 20, ("WA", "R"): 20})
    judge_inspection(inspection=again, by=again.opened_by, at=NOW)
    picture = batch_picture(batch)
    assert (picture.lines[0].shelf, picture.points[1].verdicts) == ("out", {"out": 1})


def test_of_very_many_verdicts_the_oldest_are_forgotten_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(verdict_cells, "MOST_KEPT", 2)
    batch = factories.make_batch()
    for _ in range(3):
        _judged(batch)
        batch_picture(batch)
    assert len(verdict_cells._kept) == 2
    assert [line.shelf for line in batch_picture(batch).lines] == ["in"] * 3


def test_many_new_verdicts_are_read_in_one_statement_all_the_same(
    monkeypatch: pytest.MonkeyPatch, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    batch = factories.make_batch()
    for _ in range(3):
        _judged(batch)
    few = batch_picture(batch)
    verdict_cells.forget_kept()
    monkeypatch.setattr(verdict_cells, "_FEW", 2)
    with django_assert_num_queries(3):
        assert batch_picture(batch) == few
