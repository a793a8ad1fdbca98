"""Figures one after another, drawn."""

from __future__ import annotations

import re

import pytest

from inventory.calc.length import Display, Unit
from inventory.queries.own.run_charts import RunChart, Spot
from inventory.templatetags.run_chart import drawn, per_metre, whole_length

MM = Display(unit=Unit.MM, denominator=None)


def chart(*values_mm: float, signals: bool = False) -> RunChart:
    spots = [Spot(value * 1e6, f"day {number}") for number, value in enumerate(values_mm[:-1])]
    spots += [Spot(value * 1e6, "today", signals=signals) for value in values_mm[-1:]]
    return RunChart("Waist", spots, lower_nm=353e6, upper_nm=357e6, centre_nm=355e6)


def test_the_picture_is_told_in_words_and_marks_what_signals_by_its_shape() -> None:
    steady, moved = drawn(chart(355, 356), MM), drawn(chart(355, 368, signals=True), MM)
    assert 'aria-label="Waist: 2 figures, the last 356 mm"' in steady
    assert "run-signal" not in steady
    assert "; 1 outside what was to be expected" in moved
    assert moved.count("<circle") == moved.count("run-signal") == 1


def test_everything_lies_inside_the_picture() -> None:
    picture = drawn(chart(355, 300, 420, 355), MM)
    heights = [float(y) for y in re.findall(r' (?:cy|y1|y)="(-?[\d.]+)"', picture)]
    assert len(heights) > 8
    assert all(0 <= y <= 170 for y in heights)


@pytest.mark.parametrize("values", [(), (355,), (355, 355)])
def test_none_one_and_equal_figures_are_drawn(values: tuple[float, ...]) -> None:
    bare = RunChart("Waist", [Spot(value * 1e6, "day") for value in values])
    assert drawn(bare, MM).count("<circle") == len(values)


def test_words_are_escaped() -> None:
    assert "<b>" not in drawn(RunChart("<b>", [Spot(0, "<b>")]), MM)


def test_computed_figures_are_shown_like_others() -> None:
    assert (whole_length(355_125_000.0, MM), whole_length(None, MM)) == ("355.1 mm", "–")
    assert per_metre(-10_000.0) == "\N{MINUS SIGN}10.0"
