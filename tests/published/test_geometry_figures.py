"""Geometry against figures and routes from outside the project.

Pythagorean triples: Euclid, Elements I.47 and X.28 (lemma 1), exact. The other expected values are not
typed in but worked out here by a second road: trigonometry for the slant, the length of a drawn curve for
the edge, a rolled-out cone for the height.
"""

import itertools
import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc import geometry
from tests.closeness import exact, same_float, to_printed_digits, within_one_nm

MM = 1_000_000

TRIPLES = [(3, 4, 5), (5, 12, 13), (8, 15, 17), (7, 24, 25), (20, 21, 29), (9, 40, 41), (12, 35, 37)]


@pytest.mark.parametrize(("rise", "run", "slant"), TRIPLES, ids=[f"Euclid {t}" for t in TRIPLES])
def test_right_triangles_in_whole_numbers_come_out_exactly(rise: int, run: int, slant: int) -> None:
    assert exact(geometry.slanted_reading(run * MM, rise_nm=rise * MM), slant * MM)
    assert exact(geometry.straight_from_slanted(slant * MM, rise_nm=rise * MM), run * MM)


@pytest.mark.parametrize("rise_mm", [1, 5, 10, 20, 25, 30, 40, 50, 60])
@pytest.mark.parametrize("run_mm", [60, 300, 475])
def test_a_slanted_line_reads_its_run_over_the_cosine_of_its_angle(run_mm: int, rise_mm: int) -> None:
    angle = math.atan2(rise_mm, run_mm)
    reading = geometry.slanted_reading(run_mm * MM, rise_nm=rise_mm * MM)
    assert within_one_nm(reading, run_mm * MM / math.cos(angle))
    assert within_one_nm(
        geometry.straight_from_slanted(reading, rise_nm=rise_mm * MM), reading * math.cos(angle)
    )


@pytest.mark.parametrize(
    ("rise_mm", "printed"),
    [(10, "0.17"), (20, "0.67"), (30, "1.5")],
    ids=lambda value: f"surveyor's slope correction h²/2L from memory, {value}",
)
def test_a_small_slant_follows_the_surveyors_slope_correction(rise_mm: int, printed: str) -> None:
    excess_mm = (geometry.slanted_reading(300 * MM, rise_nm=rise_mm * MM) - 300 * MM) / MM
    assert to_printed_digits(excess_mm, printed)
    assert to_printed_digits(rise_mm**2 / (2 * 300), printed)


@given(straight_nm=st.integers(0, 10_000 * MM), rise_nm=st.integers(-1_000 * MM, 1_000 * MM))
def test_a_slanted_tape_never_reads_short(straight_nm: int, rise_nm: int) -> None:
    """Common practice, no source: makers' instructions warn of it; the triangle proves it."""
    assert geometry.slanted_reading(straight_nm, rise_nm=rise_nm) >= straight_nm


def _drawn_length(curve: Callable[[float], float], chord: float, steps: int = 20_000) -> float:
    """Length of a curve over its chord as a chain of short straight lines."""
    xs = [chord * i / steps for i in range(steps + 1)]
    return math.fsum(
        math.hypot(right - left, curve(right) - curve(left)) for left, right in itertools.pairwise(xs)
    )


def _parabola(chord: float, sag: float) -> Callable[[float], float]:
    return lambda x: 4 * sag * x * (chord - x) / chord**2


def _circle(chord: float, sag: float) -> Callable[[float], float]:
    radius = (chord**2 / 4 + sag**2) / (2 * sag)
    return lambda x: math.sqrt(max(radius**2 - (x - chord / 2) ** 2, 0.0)) - (radius - sag)


@pytest.mark.parametrize("shape", [_parabola, _circle], ids=["parabola", "circle"])
@pytest.mark.parametrize("sag_mm", [10, 15, 20, 30, 40, 50, 70])
def test_the_edge_formula_follows_the_drawn_curve_within_its_stated_error(
    shape: Callable[[float, float], Callable[[float], float]], sag_mm: int
) -> None:
    chord_mm = 280.0
    drawn = _drawn_length(shape(chord_mm, sag_mm), chord_mm) - chord_mm
    estimate = geometry.along_the_edge_excess(280 * MM, sag_nm=sag_mm * MM) / MM
    stated = 2.4 * (sag_mm / chord_mm) ** 2
    assert estimate * (1 - stated) <= drawn <= estimate


def test_the_drawn_circle_has_the_length_of_its_arc() -> None:
    """The second road itself, against the textbook arc: radius times angle."""
    chord, sag = 280.0, 50.0
    radius = (chord**2 / 4 + sag**2) / (2 * sag)
    arc = 2 * radius * math.asin(chord / 2 / radius)
    assert abs(_drawn_length(_circle(chord, sag), chord) - arc) < 1e-5


@pytest.mark.parametrize(("lower_mm", "expected_mm"), [(10, 10), (-10, -10), (4, 4)])
def test_a_line_too_low_on_a_cone_reads_larger_by_the_sensitivity(lower_mm: int, expected_mm: int) -> None:
    """A straight flare from a half of 330 to 430 mm in 100 mm: widths of a trapezium at any height."""
    sensitivity = geometry.height_sensitivity(330 * MM, 430 * MM, distance_nm=100 * MM)
    width_at_50 = 330 + (430 - 330) * 50 / 100
    width_there = 330 + (430 - 330) * (50 + lower_mm) / 100
    assert same_float(sensitivity * lower_mm, width_there - width_at_50)
    assert same_float(sensitivity * lower_mm, float(expected_mm))


def test_rounding_each_panel_spreads_the_sum_as_a_uniform_distribution_does() -> None:
    """All 10,000 equally spaced rests of two panels, rounded and added: no random numbers needed."""
    step = 100
    rests = range(-step // 2 + 1, step // 2 + 1)
    errors = [a + b for a in rests for b in rests]
    mean = sum(errors) / len(errors)
    spread = math.sqrt(sum((e - mean) ** 2 for e in errors) / len(errors))
    stated = geometry.panel_sum([1_000, 1_000], step_nm=step).u_rounding_nm
    # A grid of m points instead of a continuum: its variance is (m² − 1)/12 of a step instead of m²/12.
    assert same_float(spread, stated * math.sqrt(1 - 1 / step**2))
