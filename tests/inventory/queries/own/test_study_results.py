"""What a study found, against readings whose parts are known beforehand."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.calc.length import Display, Unit
from inventory.models import Study, StudyReading, StudyTurn
from inventory.queries.own.study_pictures import pictures_of
from inventory.queries.own.study_results import doubtful_of, results_of
from inventory.queries.own.study_words import said_of
from tests.factories import MM, NOW, make_batch, make_instrument, make_study
from tests.study_readings import read_study, steady

pytestmark = pytest.mark.django_db


def read_wrongly(turn: StudyTurn, code: str, side: str) -> float:
    slip = code == "WA" and side == "L" and (turn.round, turn.study_piece.position) == (2, 3)
    return steady(turn, code, side) + (10 if slip and turn.study_person.position == 0 else 0)


def always_300(_turn: StudyTurn, _code: str, _side: str) -> float:
    return 300.0


def test_left_and_right_count_as_two_pieces() -> None:
    study = read_study(make_study(pieces=5))
    waist = results_of(study)[0]
    assert waist.chosen is not None
    labels = [row.piece.label for row in study.study_pieces.select_related("piece")]
    assert waist.chosen.table.pieces == tuple(f"{label} {side}" for label in labels for side in "LR")
    assert waist.chosen.table.rounds == 2
    assert len(waist.readings) == 5 * 2 * 2 * 2


def test_the_difference_of_two_people_is_found() -> None:
    study = read_study(make_study(pieces=6))
    waist = results_of(study)[0].chosen
    assert waist is not None
    first, second = sorted(waist.people, key=lambda one: one.bias_nm)
    assert second.bias_nm - first.bias_nm == pytest.approx(2 * MM, abs=0.5 * MM)
    assert second.differs


def test_both_ways_of_reckoning_are_there_and_the_one_that_counts_is_one_of_them() -> None:
    result = results_of(read_study(make_study(pieces=6)))[0]
    assert result.chosen is not None
    assert result.kept is not None
    assert result.pooled is not None
    assert not result.kept.anova.pooled
    assert result.pooled.anova.pooled
    same = result.pooled if result.chosen.anova.pooled else result.kept
    assert result.chosen.error == same.error


def test_the_tolerance_is_that_of_the_spec_in_force_as_read() -> None:
    study = read_study(make_study(pieces=5))
    result = results_of(study)[0]
    cell = study.style.specs.get().spec_points.get(point__code="WA").cells.get(size__label="24")
    width = cell.tolerance_minus_nm + cell.tolerance_plus_nm
    assert result.tolerance_nm == (width if cell.spec_point.basis == "half" else width // 2)


def test_the_division_is_that_of_the_coarsest_tape_named() -> None:
    study = make_study(pieces=5)
    assert results_of(read_study(study))[0].division_nm == MM
    inches = read_study(make_study(pieces=5, unit="in"))
    assert results_of(inches)[0].division_nm == 1_587_500
    tape = make_instrument(division_nm=5 * MM)
    other = make_study(pieces=5)
    _with_tape(other, tape.pk)
    assert results_of(other)[0].division_nm == 5 * MM


def _with_tape(study: Study, tape: int) -> None:
    turns = study.turns.select_related("study_piece", "study_person__person")
    point = study.points.get(code="WA")
    for turn in turns:
        for side in "LR":
            StudyReading.objects.create(
                turn=turn,
                point=point,
                side=side,
                typed="330",
                unit="mm",
                length_nm=330 * MM,
                instrument_id=tape,
                taken_by=turn.study_person.person,
                taken_at=NOW,
                recorded_at=NOW,
            )


def test_equal_readings_are_analysed_and_said_so() -> None:
    study = read_study(make_study(pieces=5), always_300)
    found = results_of(study)[0].chosen
    assert found is not None
    assert any("Every repeat gave the same figure" in note for note in found.notes)
    assert found.error.repeat_sd_nm == 288_676  # division/√12, rounded up
    names = {one.person: one.person for one in found.people}
    assert said_of(found, names, Display(Unit.MM))[0] == "Everybody reads the same on the mean."
    pictures = pictures_of(found, names)
    assert pictures.dots_reach_nm == 500_000


def test_a_missing_turn_leaves_its_piece_out_and_names_it() -> None:
    study = read_study(make_study(pieces=6), but=1)
    found = results_of(study)[0].chosen
    assert found is not None
    gone = study.study_pieces.select_related("piece").last()
    assert gone is not None
    assert found.table.left_out == (f"{gone.piece.label} L", f"{gone.piece.label} R")


def test_too_many_holes_are_said_in_words() -> None:
    result = results_of(make_study(pieces=5))[0]
    assert result.chosen is None
    assert "people" in result.refused


def test_a_misread_ten_is_named_and_its_correction_settles_it() -> None:
    study = read_study(make_study(pieces=6), read_wrongly)
    ((point, reading),) = doubtful_of(study)
    assert (point.code, reading.side, reading.turn.round) == ("WA", "L", 2)
    StudyReading.objects.create(
        turn=reading.turn,
        point=point,
        side="L",
        typed="right",
        unit="mm",
        length_nm=reading.length_nm - 10 * MM,
        taken_by=reading.taken_by,
        taken_at=NOW,
        recorded_at=NOW,
        corrects=reading,
        reason="ten misread",
    )
    assert doubtful_of(study) == []


def test_the_number_of_statements_does_not_grow_with_the_study() -> None:
    counts = []
    for pieces in (5, 10):
        study = Study.objects.get(pk=read_study(make_study(make_batch(), pieces=pieces)).pk)
        with CaptureQueriesContext(
            connection,
        ) as asked:
            results_of(study)
        counts.append(len(asked))
    assert counts[0] == counts[1] <= 6


def test_words_name_who_reads_longer_and_how_much_of_the_tolerance_goes() -> None:
    study = read_study(make_study(pieces=6))
    found = results_of(study)[0].chosen
    assert found is not None
    names = {found.table.people[0]: "Ann", found.table.people[1]: "Ben"}
    said = said_of(found, names, Display(Unit.MM))
    assert said[0].startswith("Ben reads 1.8 mm longer than Ann")
    assert said[0].endswith("more than chance would make.")
    assert "of the tolerance" in said[-1]


def test_pictures_hold_every_reading_once_around_its_piece() -> None:
    found = results_of(read_study(make_study(pieces=5)))[0].chosen
    assert found is not None
    pictures = pictures_of(found, {})
    for row in pictures.dots:
        offs = [off for cell in row.offs_nm for off in cell]
        assert sum(offs) == pytest.approx(0, abs=1)
        assert max(map(abs, offs)) <= pictures.dots_reach_nm
    for ranges in pictures.ranges:
        assert max(ranges.ranges_nm) == ranges.largest_nm
        assert ranges.at in found.table.pieces
