"""An outlying reading is named, honest ones are not, and the test is that of a regression with dummies."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study import arrange, outlying
from inventory.calc.gauge_study.readings import Table
from tests.calc.gauge_study.studies import MM, drawn, readings_of


def a_table(seed: int, *, people: int = 2, rounds: int = 2) -> Table:
    drawing = np.random.default_rng(seed)
    return arrange(readings_of(drawn(drawing, pieces=6, people=people, rounds=rounds, repeat_sd=1.0)))


def changed(table: Table, piece: int, who: int, number: int, by_nm: int) -> Table:
    rows = [[list(cell) for cell in row] for row in table.values_nm]
    rows[piece][who][number] += by_nm
    return Table(
        table.pieces, table.people, table.rounds, tuple(tuple(tuple(c) for c in row) for row in rows)
    )


@pytest.mark.parametrize("seed", range(20))
def test_a_misread_ten_is_named_with_where_it_was(seed: int) -> None:
    found = outlying(changed(a_table(seed), 3, 1, 0, 10 * MM))
    assert (found[0].piece, found[0].person, found[0].round) == ("4", "B", 1)
    assert found[0].off_nm == pytest.approx(10 * MM, abs=5 * MM)


def test_honest_studies_name_one_as_seldom_as_said() -> None:
    named = sum(bool(outlying(a_table(seed))) for seed in range(2_000))
    assert named / 2_000 == pytest.approx(0.05, abs=0.02)
    assert named / 2_000 < 0.07


@given(seed=st.integers(0, 10_000), people=st.integers(2, 4), rounds=st.integers(2, 3))
@settings(max_examples=30, deadline=None)
def test_it_agrees_with_a_regression_that_gives_the_reading_a_mean_of_its_own(
    seed: int, people: int, rounds: int
) -> None:
    table = a_table(seed, people=people, rounds=rounds)
    count = len(table.all_values_nm)
    named = outlying(table, chance=0.999)
    design, heights = [], []
    where = []
    for piece, who, cell in table.cells():
        for number, value in enumerate(cell, start=1):
            row = np.zeros(6 + people - 1)
            row[piece] = 1
            if who:
                row[5 + who] = 1
            design.append(row)
            heights.append(value / MM)
            where.append((table.pieces[piece], table.people[who], number))
    x, y = np.array(design), np.array(heights)
    for one in named:
        own = np.zeros((count, 1))
        own[where.index((one.piece, one.person, one.round)), 0] = 1
        both = np.hstack([x, own])
        beta, *_ = np.linalg.lstsq(both, y, rcond=None)
        dof = count - both.shape[1]
        scatter = float(np.sum((y - both @ beta) ** 2)) / dof
        error = np.sqrt(scatter * np.linalg.inv(both.T @ both)[-1, -1])
        p = min(1.0, count * 2 * stats.t.sf(abs(beta[-1] / error), dof))
        assert one.p == pytest.approx(p, rel=1e-6)
        assert one.off_nm == pytest.approx(beta[-1] * MM, rel=1e-6)


def test_equal_readings_have_none_and_a_single_different_one_is_named() -> None:
    table = arrange(readings_of(np.full((5, 2, 2), 300 * MM)))
    assert outlying(table) == ()
    (found,) = outlying(changed(table, 2, 0, 1, MM))
    assert (found.piece, found.person, found.round, found.p) == ("3", "A", 2, 0.0)


def test_a_chance_that_is_none_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="false alarm"):
        outlying(a_table(1), chance=1.0)
