"""From readings to a full table: what is left out, what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study import arrange
from tests.calc.gauge_study.studies import drawn, readings_of

VALUES = drawn(np.random.default_rng(1), pieces=7)


def test_a_full_study_becomes_a_full_table() -> None:
    table = arrange(readings_of(VALUES))
    assert table.values_nm == tuple(tuple(map(tuple, row)) for row in VALUES.tolist())
    assert (table.people, table.rounds, table.left_out) == (("A", "B"), 2, ())
    assert len(table.all_values_nm) == 28


@given(st.permutations(range(28)))
def test_the_order_of_the_readings_is_of_no_matter(order: list[int]) -> None:
    readings = readings_of(VALUES)
    mixed = arrange([readings[n] for n in order])
    plain = arrange(readings)
    for piece, row in zip(mixed.pieces, mixed.values_nm, strict=True):
        by_name = dict(zip(mixed.people, row, strict=True))
        expected = plain.values_nm[plain.pieces.index(piece)]
        assert tuple(by_name[who] for who in plain.people) == expected


def test_a_piece_with_a_missing_reading_is_left_out_and_named() -> None:
    readings = [r for r in readings_of(VALUES) if (r.piece, r.person, r.round) != ("3", "B", 2)]
    table = arrange(readings)
    assert table.left_out == ("3",)
    assert table.missing == ("piece 3 by B in round 2",)
    assert len(table.pieces) == 6


def test_too_many_gaps_are_refused_with_what_is_missing() -> None:
    readings = [r for r in readings_of(VALUES) if r.round == 1 or r.piece in "1234"]
    with pytest.raises(ImpossibleInput, match="4; missing: piece 5 by A in round 2, piece 5 by B in round 2"):
        arrange(readings)


def test_a_long_list_of_gaps_is_cut() -> None:
    values = drawn(np.random.default_rng(1), pieces=9)
    readings = [r for r in readings_of(values) if r.round == 1 or r.piece in "1"]
    with pytest.raises(ImpossibleInput, match="and 10 more"):
        arrange(readings)


@pytest.mark.parametrize(
    ("keep", "words"),
    [
        (lambda r: r.person == "A", "Number of people is 1"),
        (lambda r: r.round == 1, "Number of rounds is 1"),
        (lambda r: r.piece in "123", "Number of pieces is 3"),
        (lambda r: r.piece == "none", "Number of people is 0"),
    ],
)
def test_a_study_too_small_is_refused(keep: object, words: str) -> None:
    assert callable(keep)
    with pytest.raises(ImpossibleInput, match=words):
        arrange([r for r in readings_of(VALUES) if keep(r)])


def test_the_same_reading_twice_is_refused() -> None:
    readings = readings_of(VALUES)
    with pytest.raises(ImpossibleInput, match="there twice: piece 1 by A in round 1"):
        arrange([*readings, readings[0]])
