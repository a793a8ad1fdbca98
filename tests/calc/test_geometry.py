"""The lie of the tape: what must always hold, and what is refused."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.calc import geometry
from inventory.calc.errors import ImpossibleInput
from tests.closeness import ONE_NM, exact, same_float, within_one_nm

MM = 1_000_000

straight = st.integers(1 * MM, 2_000 * MM)
rises = st.integers(-200 * MM, 200 * MM)


@given(straight_nm=straight, rise_nm=rises)
def test_taking_a_slant_out_gives_the_straight_length_back(straight_nm: int, rise_nm: int) -> None:
    assume(abs(rise_nm) <= straight_nm)
    reading = geometry.slanted_reading(straight_nm, rise_nm=rise_nm)
    back = geometry.straight_from_slanted(reading, rise_nm=rise_nm)
    # The reading was rounded to whole nanometres once; going back stretches that by reading/straight.
    assert abs(back - straight_nm) <= 2 * ONE_NM


@given(straight_nm=straight, rise_nm=rises)
def test_up_and_down_read_alike(straight_nm: int, rise_nm: int) -> None:
    up = geometry.slanted_reading(straight_nm, rise_nm=rise_nm)
    assert up == geometry.slanted_reading(straight_nm, rise_nm=-rise_nm)


@given(straight_nm=st.integers(200 * MM, 1_000 * MM), half_rise_nm=st.integers(1 * MM, 10 * MM))
def test_half_the_rise_is_a_quarter_of_the_excess(straight_nm: int, half_rise_nm: int) -> None:
    whole = geometry.slanted_reading(straight_nm, rise_nm=2 * half_rise_nm) - straight_nm
    half = geometry.slanted_reading(straight_nm, rise_nm=half_rise_nm) - straight_nm
    # The next term of the series, 3/4·(half rise/straight)² of the excess; and five roundings by half a nm.
    assert abs(4 * half - whole) <= 0.75 * (half_rise_nm / straight_nm) ** 2 * whole + 2.5 * ONE_NM


def test_no_rise_changes_nothing() -> None:
    assert exact(geometry.slanted_reading(330 * MM, rise_nm=0), 330 * MM)
    assert exact(geometry.straight_from_slanted(330 * MM, rise_nm=0), 330 * MM)
    assert exact(geometry.along_the_edge_excess(280 * MM, sag_nm=0), 0)


def test_a_reading_all_rise_has_no_straight_part() -> None:
    assert exact(geometry.straight_from_slanted(30 * MM, rise_nm=30 * MM), 0)


def test_lengths_too_large_for_a_float_square_stay_exact() -> None:
    reading = geometry.slanted_reading(4 * 10**9 + 4, rise_nm=3 * 10**9 + 3)
    assert exact(reading, 5 * 10**9 + 5)


@given(sag_nm=st.integers(0, 70 * MM), more_nm=st.integers(1, 30 * MM))
def test_a_deeper_curve_is_longer(sag_nm: int, more_nm: int) -> None:
    chord = 400 * MM
    shallow = geometry.along_the_edge_excess(chord, sag_nm=sag_nm)
    assert shallow <= geometry.along_the_edge_excess(chord, sag_nm=sag_nm + more_nm)


def test_the_wider_girth_below_gives_a_positive_sensitivity_and_swapping_flips_it() -> None:
    down = geometry.height_sensitivity(330 * MM, 430 * MM, distance_nm=80 * MM)
    up = geometry.height_sensitivity(430 * MM, 330 * MM, distance_nm=80 * MM)
    assert same_float(down, 1.25)
    assert same_float(up, -1.25)
    assert geometry.height_sensitivity(330 * MM, 330 * MM, distance_nm=80 * MM) == 0


def test_a_height_missed_by_its_spread_moves_the_girth_by_the_sensitivity() -> None:
    assert same_float(geometry.u_from_height_nm(-1.25, u_height_nm=4.0 * MM), 5.0 * MM)


@given(panels=st.lists(st.integers(1, 200 * MM), min_size=1, max_size=24))
def test_panels_add_up_in_any_order(panels: list[int]) -> None:
    summed = geometry.panel_sum(panels, step_nm=MM)
    assert summed == geometry.panel_sum(panels[::-1], step_nm=MM)
    assert exact(summed.total_nm, sum(panels))
    assert same_float(summed.u_rounding_nm, MM / math.sqrt(12) * math.sqrt(len(panels)))


def test_unrounded_panels_add_no_uncertainty() -> None:
    assert geometry.panel_sum([10 * MM], step_nm=0).u_rounding_nm == 0


def test_six_panels_read_to_whole_millimetres_carry_a_good_half_millimetre() -> None:
    assert within_one_nm(
        round(geometry.panel_sum([55 * MM] * 6, step_nm=MM).u_rounding_nm), MM / math.sqrt(2)
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: geometry.straight_from_slanted(20 * MM, rise_nm=-30 * MM), "Rise is 30 mm, longer than"),
        (lambda: geometry.straight_from_slanted(-MM, rise_nm=0), "Reading is -1 mm"),
        (lambda: geometry.slanted_reading(-MM, rise_nm=0), "Straight length is -1 mm"),
        (lambda: geometry.along_the_edge_excess(280 * MM, sag_nm=-MM), "Sag is -1 mm"),
        (
            lambda: geometry.along_the_edge_excess(280 * MM, sag_nm=71 * MM),
            "Sag is 71 mm over a chord of 280",
        ),
        (lambda: geometry.along_the_edge_excess(0, sag_nm=0), "Sag is 0 mm over a chord of 0 mm"),
        (lambda: geometry.height_sensitivity(MM, MM, distance_nm=0), "Distance between two girths is 0 mm"),
        (lambda: geometry.u_from_height_nm(1.0, u_height_nm=-1.0), "Uncertainty of the height is -1.0"),
        (lambda: geometry.panel_sum([], step_nm=MM), "Panel sum is without panels"),
        (lambda: geometry.panel_sum([MM, 0], step_nm=MM), "Panel 2 is 0 mm wide"),
        (lambda: geometry.panel_sum([MM], step_nm=-MM), "Rounding step is -1 mm"),
    ],
)
def test_impossible_shapes_are_refused_by_name_and_value(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(ImpossibleInput, match=f"^{message}"):
        call()
