"""The sizes of many pieces through arrays: the same answers as one at a time."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.plan import PointPlan, columns_of
from inventory.calc.sizing import fit_sizes, fit_sizes_many
from tests.calc.plans import MM, half, plan_lists, small_lengths

steps = st.integers(-3, 3).map(lambda n: n * 4 * MM)


@st.composite
def grids(draw: st.DrawFn) -> dict[str, dict[str, PointPlan]]:
    """Up to four sizes of the same points; now and then a size lacks one, or states it otherwise."""
    base = draw(plan_lists(least=1))
    grid = {}
    for number in range(draw(st.integers(1, 4))):
        plans = {
            plan.code: replace(
                plan,
                nominal_nm=plan.nominal_nm + draw(steps),
                basis=draw(st.sampled_from((plan.basis, plan.basis, "half", "full"))),
            )
            for plan in base
            if number == 0 or draw(st.integers(0, 5))
        }
        grid[f"size {number}"] = plans
    return grid


@given(grid=grids(), data=st.data())
def test_arrays_give_exactly_the_answers_of_the_plain_road(
    *, grid: dict[str, dict[str, PointPlan]], data: st.DataObject
) -> None:
    labelled = data.draw(st.sampled_from(sorted(grid)))
    everything = list(grid["size 0"].values())
    columns = columns_of(everything)
    nominal = {plan.code: plan.nominal_nm for plan in everything}
    off = small_lengths.flatmap(lambda size: st.sampled_from((-size, size, size + 4 * MM)))
    rows = [
        [nominal[code] + data.draw(off) if data.draw(st.integers(0, 4)) else None for code, _ in columns]
        for _ in range(data.draw(st.integers(0, 4)))
    ]
    shape = (len(rows), len(columns))
    means = np.array([[7 if mean is None else mean for mean in row] for row in rows], np.int64).reshape(shape)
    present = np.array([[mean is not None for mean in row] for row in rows], np.bool_).reshape(shape)
    many = fit_sizes_many(columns, means, present, grid, labelled=labelled)
    for number, row in enumerate(rows):
        taken = {cell: mean for cell, mean in zip(columns, row, strict=True) if mean is not None}
        if any(code in grid[labelled] for code, _ in taken):
            assert many.piece(number) == fit_sizes(taken, grid, labelled=labelled)
        else:
            assert many.piece(number) is None


CHART = {"26": {"WA": half()}, "28": {"WA": half(nominal_nm=355 * MM)}}
COLUMNS = (("WA", "L"), ("WA", "R"))


def test_a_batch_with_wrong_labels_is_sorted_out() -> None:
    means = np.array([[330, 331], [354, 356], [340, 340], [0, 0]]) * MM
    present = np.array([[True, True], [True, True], [True, True], [False, False]])
    many = fit_sizes_many(COLUMNS, means, present, CHART, labelled="26")
    assert many.labelled_fits.tolist() == [True, False, False, False]
    assert many.suspected.tolist() == [False, True, False, False]
    assert many.size.tolist() == [0, 1, -1, -1]
    assert many.compared.tolist() == [2, 2, 2, 0]


def test_an_unknown_label_is_refused_in_arrays_too() -> None:
    with pytest.raises(ImpossibleInput, match="Use one of 26, 28"):
        fit_sizes_many(COLUMNS, np.zeros((1, 2), np.int64), np.ones((1, 2), np.bool_), CHART, labelled="27")


@pytest.mark.parametrize("shape", [(2,), (1, 3)])
def test_a_table_that_does_not_fit_is_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(ImpossibleInput, match="Give pieces × 2 columns"):
        fit_sizes_many(COLUMNS, np.zeros(shape, np.int64), np.ones(shape, np.bool_), CHART, labelled="26")
