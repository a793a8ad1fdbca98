"""Lists of pieces, the table of one piece's findings, its sittings and its history."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory.models import Piece
from inventory.queries import audit, pieces
from inventory.queries.point_table import point_rows
from inventory.services.dispositions import decide_disposition
from inventory.services.judging import judge_inspection
from inventory.services.pieces import PieceCount, number_pieces
from tests import factories
from tests.factories import MM, NOW

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pytest_django import DjangoAssertNumQueries

    from inventory.models import PieceVerdict

pytestmark = pytest.mark.django_db


def _judge(piece: Piece, off_mm: Mapping[tuple[str, str], float] | None = None) -> PieceVerdict:
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, off_mm)
    return judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)


def test_pieces_carry_their_current_verdict() -> None:
    piece = factories.make_piece()
    factories.make_verdict(piece, shelf="out")
    factories.make_verdict(piece, shelf="in")
    (found,) = pieces.pieces_matching()
    assert (found, found.shelf) == (piece, "in")


def test_pieces_are_filtered_by_verdict_standing_size_batch_and_maker() -> None:
    good, bad, waiting = (factories.make_piece(size_label=size) for size in ("22", "24", "26"))
    factories.make_verdict(good, shelf="in")
    factories.make_verdict(bad, shelf="out")
    Piece.objects.filter(pk=good.pk).update(standing="release")
    assert list(pieces.pieces_matching(shelf="out")) == [bad]
    assert list(pieces.pieces_matching(shelf="none")) == [waiting]
    assert list(pieces.pieces_matching(standing="release")) == [good]
    assert list(pieces.pieces_matching(size_label="26")) == [waiting]
    assert list(pieces.pieces_matching(batch=bad.batch)) == [bad]
    assert list(pieces.pieces_matching(maker_id=bad.batch.delivery.maker.pk)) == [bad]


def test_a_piece_is_found_by_its_label_its_old_number_or_its_colour() -> None:
    piece = factories.make_piece(maker_reference="OLD-9", colour="ivory")
    factories.make_piece()
    for text in (piece.label, piece.label.lower(), str(piece.number), "old-9", "ivor"):
        assert list(pieces.pieces_matching(text=text)) == [piece]


def test_a_list_of_pieces_takes_one_statement(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    for _ in range(2):
        factories.make_verdict(factories.make_piece())
        with django_assert_num_queries(1):
            for piece in pieces.pieces_matching():
                assert piece.batch.delivery.maker.name
                assert piece.batch.style.name
                assert piece.shelf == "in"


def test_the_table_gives_each_point_as_it_was_judged() -> None:
    piece = factories.make_piece()
    verdict = _judge(piece, {("WA", "L"): 20, ("WA", "R"): 18})
    rows = {row.code: row for row in point_rows(verdict, piece.batch)}
    assert list(rows) == ["UB", "WA", "CF"]
    waist = rows["WA"]
    assert waist.left is not None
    assert waist.full is not None
    assert waist.pair is not None
    assert waist.left.value_nm == (355 + 20) * MM
    assert waist.full.value_nm == 2 * 355 * MM + 38 * MM
    assert waist.pair.value_nm == 2 * MM
    assert (waist.shelf, waist.is_worst, waist.deviation_nm) == ("out", True, 20 * MM)
    assert (waist.asked_nominal_nm, waist.asked_limits.upper_nm) == (355 * MM, 361 * MM)
    assert rows["UB"].shelf == "in"


def test_where_the_tolerance_is_stated_for_the_full_girth_the_table_speaks_of_it() -> None:
    recipe = factories.PointRecipe("HW", "hem", basis="full", tolerance_mm=12, asymmetry_mm=None)
    piece = factories.make_piece(factories.make_batch(factories.make_spec(points=(recipe,))))
    (row,) = point_rows(_judge(piece, {("HW", "L"): 3, ("HW", "R"): 4}), piece.batch)
    assert (row.asked_nominal_nm, row.deviation_nm) == (710 * MM, 7 * MM)
    assert (row.asked_limits.lower_nm, row.asked_limits.upper_nm) == (698 * MM, 722 * MM)


def test_the_table_of_a_single_point_has_one_figure() -> None:
    recipe = factories.PointRecipe("CB", "centre back", kind="length", sides="single", asymmetry_mm=None)
    piece = factories.make_piece(factories.make_batch(factories.make_spec(points=(recipe,))))
    (row,) = point_rows(_judge(piece, {("CB", "S"): -2}), piece.batch)
    assert (row.left, row.right, row.full, row.pair) == (None, None, None, None)
    assert row.deviation_nm == -2 * MM


def test_sittings_come_with_every_reading_corrected_ones_too(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    piece = factories.make_piece()
    sitting = factories.make_inspection(piece)
    wrong = factories.make_reading(sitting, mm=366)
    factories.make_reading(sitting, mm=356, corrects=wrong, reason="read at the wrong height")
    for more in range(2):
        if more:
            factories.make_reading(factories.make_inspection(piece), mm=355)
        # sittings, readings, questions, corrections, verdicts, unread sides; who corrected
        with django_assert_num_queries(7):
            found = list(pieces.sittings_of(piece))
            for each in found:
                for reading in each.readings.all():
                    assert reading.point.code
                    assert reading.taken_by.username
                    for correction in reading.corrections.all():
                        assert correction.taken_by.username
                    assert not list(reading.slip_questions.all())
    oldest = pieces.sittings_of(piece).last()
    assert oldest is not None
    first, second = oldest.readings.all()
    assert [correction.reason for correction in first.corrections.all()] == ["read at the wrong height"]
    assert second.corrects_id == first.pk


def test_the_history_of_a_piece_tells_all_that_was_done_to_it() -> None:
    batch, person = factories.make_batch(), factories.make_user("owner")
    mine, other = number_pieces(batch=batch, counts=[PieceCount("24", 2)], by=person, at=NOW)
    verdict = _judge(mine)
    _judge(other)
    decide_disposition(piece=mine, decision="release", by=person, at=NOW)
    deeds = [row.deed for row in audit.history_of_piece(mine)]
    assert deeds == ["decide release", "judge piece", "number pieces"]
    assert verdict.piece == mine


def test_the_history_of_a_batch_leaves_its_pieces_to_themselves() -> None:
    batch, person = factories.make_batch(), factories.make_user("owner")
    (piece,) = number_pieces(batch=batch, counts=[PieceCount("24", 1)], by=person, at=NOW)
    _judge(piece)
    assert [row.deed for row in audit.history_of_batch(batch)] == ["number pieces"]
    assert [row.deed for row in audit.history_of_delivery(batch.delivery)] == ["number pieces"]
