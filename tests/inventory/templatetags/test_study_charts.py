"""Pictures of a study say in words what they draw, and place marks where the figures are."""

from __future__ import annotations

import re

import pytest
from django.template import Context

from inventory.queries.own.study_pictures import BiasRow, DotRow, Hand, RangeRow
from inventory.templatetags import study_charts

MM = 1_000_000
ANN, BEN = Hand(1, "Ann"), Hand(2, 'Ben "B" <x>')


def places(svg: str) -> list[float]:
    return [float(place) for place in re.findall(r'<svg x="([\d.]+)%"', svg)]


def test_a_dot_on_the_mean_lies_in_the_middle_and_the_furthest_at_the_reach() -> None:
    row = DotRow("P000012 L", ((330 * MM,), (332 * MM, 330 * MM)), ((0.0,), (2.0 * MM, -2.0 * MM)))
    svg = study_charts.dot_strip(Context(), row, (ANN, BEN), 2.0 * MM)
    assert places(svg) == [50.0, 96.0, 4.0]
    assert "P000012 L, off its mean: Ann " in svg
    assert "+2.0 mm and −2.0 mm" in svg


def test_what_people_are_called_is_escaped() -> None:
    row = BiasRow(BEN, 330.0 * MM, 1.0 * MM, 0.5 * MM, 1.5 * MM, differs=True)
    svg = study_charts.bias_strip(Context(), row, 2.0 * MM)
    assert "<x>" not in svg
    assert "limits +0.5 mm to +1.5 mm" in svg
    assert places(svg) == [73.0]


def test_ranges_begin_at_the_left() -> None:
    row = RangeRow(ANN, (0, 2 * MM), 1.0 * MM, 2 * MM, "P000012 L")
    svg = study_charts.range_strip(Context(), row, 2.0 * MM)
    assert re.findall(r'strip-tick" x1="([\d.]+)%"', svg) == ["4.0", "96.0"]
    assert "largest 2.0 mm at P000012 L" in svg


@pytest.mark.parametrize("place", range(1, 13))
def test_everybody_has_a_shape_and_six_are_told_apart(place: int) -> None:
    shape = study_charts.person_mark(place)
    others = {study_charts.person_mark(other) for other in range(1, 7)}
    assert len(others) == 6
    assert shape in others


def test_a_variance_below_zero_keeps_its_sign() -> None:
    assert study_charts.square_mm(-0.156e12) == "−0.156"
