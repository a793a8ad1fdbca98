"""Help at the bench: each helper by hand, what must always hold, and that its working can be kept."""

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc import geometry, level
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Display, Unit
from inventory.calc.level import Anchor, Outcome, Working
from tests.calc.plans import INCH, MM

SHOWN = Display(Unit.MM)
INCHES = Display(Unit.INCH, 8)
heights = st.integers(0, 400 * MM)


def slant(reading: int, start: int, end: int) -> Working:
    return level.slant_corrected(
        reading, start_height_nm=start, end_height_nm=end, u_height_nm=MM, display=SHOWN
    )


def panels(straight_mm: float, *, widths_mm: tuple[int, ...] = (55, 54, 56), matters_mm: int = 3) -> Working:
    return level.referee(
        [width * MM for width in widths_mm],
        straight_nm=round(straight_mm * MM),
        u_straight_nm=MM,
        step_nm=MM // 2,
        u_panel_nm=MM / 4,
        matters_nm=matters_mm * MM,
        display=SHOWN,
    )


@given(st.integers(100 * MM, 600 * MM), heights, st.integers(-60 * MM, 60 * MM))
def test_a_slant_is_taken_out_again_whichever_end_is_higher(straight: int, start: int, rise: int) -> None:
    reading = geometry.slanted_reading(straight, rise_nm=rise)
    one, other = slant(reading, start, start + rise), slant(reading, start + rise, start)
    assert abs(one.result_nm - straight) <= 1
    assert (one.result_nm, one.u_nm, one.sentence) == (other.result_nm, other.u_nm, other.sentence)
    assert one.u_nm > 0


@pytest.mark.parametrize("rise_mm", [0, 5, 20, 60])
def test_the_uncertainty_of_a_slant_correction_covers_a_simulated_one(rise_mm: int) -> None:
    """Heights each off by an SD of 1 mm: the correction scatters, and is off on average, by no more."""
    rng = np.random.default_rng(3)
    rise = rise_mm + rng.normal(0, math.sqrt(2), 200_000)
    reading = math.hypot(300, rise_mm)
    off = np.sqrt(reading**2 - rise**2) - 300
    root_mean_square = math.sqrt((off**2).mean())
    found = slant(round(reading * MM), 100 * MM, (100 + rise_mm) * MM).u_nm / MM
    assert root_mean_square * 0.999 <= found <= root_mean_square * 1.25 + 0.01


def test_a_level_tape_is_left_alone() -> None:
    found = slant(300 * MM, 100 * MM, 100 * MM)
    assert (found.result_nm, found.sentence) == (
        300 * MM,
        "Both ends lay at one height: nothing to take off.",
    )


def test_a_tape_shorter_than_the_rise_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="longer than the slanted reading"):
        slant(50 * MM, 0, 60 * MM)


@pytest.mark.parametrize(
    ("reading_mm", "sag_mm", "outcome"),
    [
        (281, 30, Outcome.STRAIGHT),
        (288, 30, Outcome.ALONG),
        (281, 10, Outcome.CANNOT_TELL),
        (300, 30, Outcome.NEITHER),
        (270, 30, Outcome.NEITHER),
    ],
)
def test_the_way_the_tape_lay_is_recognised(reading_mm: int, sag_mm: int, outcome: Outcome) -> None:
    """Common practice, no source: over 280 mm an edge that dips 10 mm is 1 mm longer, one of 30 mm 9 mm."""
    found = level.edge_or_straight(
        reading_mm * MM, straight_nm=280 * MM, sag_nm=sag_mm * MM, u_nm=1.5 * MM, display=SHOWN
    )
    assert found.outcome is outcome


@given(st.integers(200, 600), st.floats(0.05, 0.25))
def test_a_drawn_arc_is_always_recognised_as_along_or_not_told_apart(chord_mm: int, dip: float) -> None:
    """The length of a circle's arc, by its angle: radius times angle."""
    sag = dip * chord_mm
    radius = (chord_mm**2 / 4 + sag**2) / (2 * sag)
    arc = 2 * radius * math.asin(chord_mm / 2 / radius)
    found = level.edge_or_straight(
        round(arc * MM),
        straight_nm=chord_mm * MM,
        sag_nm=min(round(sag * MM), chord_mm * MM // 4),
        u_nm=MM / 2,
        display=SHOWN,
    )
    assert found.outcome in (Outcome.ALONG, Outcome.CANNOT_TELL)


@given(st.dictionaries(st.sampled_from(Anchor), heights, min_size=1))
def test_the_most_trusted_anchor_gives_the_height_and_every_other_far_off_is_told(
    found: dict[Anchor, int],
) -> None:
    """Common practice, no source: tape, ridge, notches, hard edge, eyelets, narrowest; 5 mm apart."""
    working = level.waist_line(found, display=SHOWN)
    best = next(anchor for anchor in Anchor if anchor in found)
    assert working.result_nm == found[best]
    assert working.u_nm == level.U_HEIGHT_NM[best]
    far = {anchor for anchor in found if abs(found[anchor] - found[best]) > 5 * MM}
    assert (working.outcome is Outcome.DIFFER) is bool(far)
    assert all(f"the {anchor} is " in working.sentence for anchor in far)


def test_a_waist_tape_away_from_the_narrowest_place_is_told() -> None:
    found = level.waist_line({Anchor.NARROWEST: 171 * MM, Anchor.TAPE: 178 * MM}, display=SHOWN)
    assert found.sentence == (
        "Measure at 178 mm (waist tape or its stitch line), known to about 1.0 mm. But the narrowest place "
        "is 7 mm lower. Record both: the tape may be set at the wrong height."
    )


def test_exactly_five_millimetres_apart_still_agrees() -> None:
    found = level.waist_line({Anchor.NOTCHES: 170 * MM, Anchor.NARROWEST: 175 * MM}, display=SHOWN)
    assert found.outcome is Outcome.AGREE
    assert found.sentence.endswith("What else was found agrees.")


def test_the_uncertainties_of_the_anchors_grow_as_the_trust_goes() -> None:
    u_nm = [level.U_HEIGHT_NM[anchor] for anchor in Anchor]
    assert u_nm == sorted(u_nm)


@given(st.integers(250, 500), st.integers(-150, 150), st.integers(20, 200), st.integers(0, 10))
def test_the_level_effect_is_the_slope_times_the_doubt(
    girth: int, change: int, apart: int, doubt: int
) -> None:
    found = level.level_effect(
        girth * MM,
        (girth + change) * MM,
        distance_nm=apart * MM,
        u_height_nm=doubt * MM,
        display=SHOWN,
    )
    assert abs(found.u_nm - abs(change) / apart * doubt * MM) <= 1
    assert abs(found.result_nm - abs(change) / apart * 10 * MM) <= 1


def test_an_inch_shop_is_told_of_half_an_inch() -> None:
    found = level.level_effect(13 * INCH, 15 * INCH, distance_nm=4 * INCH, u_height_nm=MM, display=INCHES)
    assert found.sentence.startswith("1/2 in lower or higher changes the reading by 1/4 in; ")


@pytest.mark.parametrize(
    ("straight_mm", "matters_mm", "outcome"),
    [
        (165.0, 3, Outcome.AGREE),
        (165.5, 3, Outcome.AGREE),
        (170.0, 3, Outcome.DIFFER),
        (160.0, 3, Outcome.DIFFER),
        (167.0, 3, Outcome.CANNOT_TELL),
        (165.0, 2, Outcome.CANNOT_TELL),
        (168.0, 10, Outcome.AGREE),
    ],
)
def test_the_panels_have_three_answers(straight_mm: float, matters_mm: int, outcome: Outcome) -> None:
    """Panels 55 + 54 + 56 = 165 mm to half a millimetre: both together may be off by 2.24 mm."""
    assert panels(straight_mm, matters_mm=matters_mm).outcome is outcome


@given(st.floats(150, 180), st.integers(1, 12))
def test_the_panels_mirror_and_are_surer_of_more_that_matters(straight_mm: float, matters_mm: int) -> None:
    one = panels(straight_mm, matters_mm=matters_mm)
    mirrored = panels(330 - straight_mm, matters_mm=matters_mm)
    assert one.outcome is mirrored.outcome
    if one.outcome is Outcome.AGREE:
        assert panels(straight_mm, matters_mm=matters_mm + 1).outcome is Outcome.AGREE


def test_the_uncertainty_of_a_panel_sum_is_that_of_simulated_panels() -> None:
    rng = np.random.default_rng(9)
    true = rng.uniform(50, 60, (200_000, 6))
    read = np.round((true + rng.normal(0, 0.5, true.shape)) * 2) / 2
    spread = (read.sum(axis=1) - true.sum(axis=1)).std()
    found = level.referee(
        [55 * MM] * 6,
        straight_nm=330 * MM,
        u_straight_nm=0.0,
        step_nm=MM // 2,
        u_panel_nm=MM / 2,
        matters_nm=MM,
        display=SHOWN,
    )
    assert abs(found.u_nm / MM / spread - 1) < 0.01


def test_the_panel_furthest_off_is_named() -> None:
    found = level.referee(
        [55 * MM, 54 * MM],
        straight_nm=109 * MM,
        u_straight_nm=MM,
        step_nm=MM,
        u_panel_nm=MM,
        matters_nm=MM,
        display=SHOWN,
        nominals_nm=[55 * MM, 57 * MM],
    )
    assert found.sentence.endswith("Furthest off is panel 2, by −3.0 mm.")


EVERY = [
    slant(301 * MM, 0, 20 * MM),
    level.edge_or_straight(281 * MM, straight_nm=280 * MM, sag_nm=20 * MM, u_nm=MM, display=SHOWN),
    level.waist_line({Anchor.TAPE: 178 * MM}, display=SHOWN),
    level.level_effect(330 * MM, 430 * MM, distance_nm=100 * MM, u_height_nm=3 * MM, display=SHOWN),
    panels(166.0),
]


@pytest.mark.parametrize("working", EVERY, ids=lambda working: str(working.kind))
def test_a_working_comes_back_from_its_document_and_is_shown_line_by_line(working: Working) -> None:
    kept = json.loads(json.dumps(working.as_document()))
    assert level.read_working(kept) == working
    lines = working.lines(SHOWN)
    assert len(lines) == len(working.given) + 3
    assert lines[-1] == working.sentence
    assert all(line and not line.endswith(" ") for line in lines)


def test_a_working_is_shown_in_the_unit_of_the_shop() -> None:
    found = level.waist_line({Anchor.TAPE: 7 * INCH}, display=INCHES)
    assert found.lines(INCHES) == (
        "Waist tape or its stitch line: 7 in",
        "The most trusted of what was found gives the height",
        "Height of the waist line: 7 in, standard uncertainty 0.04 in",
        "Measure at 7 in (waist tape or its stitch line), known to about 0.04 in.",
    )


def test_a_working_by_another_method_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match='Method of the working is "level/9"'):
        level.read_working({**EVERY[0].as_document(), "method": "level/9"})


def test_impossible_input_is_refused_by_name_and_value() -> None:
    with pytest.raises(ImpossibleInput, match="without anything that shows it"):
        level.waist_line({}, display=SHOWN)
    with pytest.raises(ImpossibleInput, match="Height of the narrowest place is −1 mm"):
        level.waist_line({Anchor.NARROWEST: -MM}, display=SHOWN)
    with pytest.raises(ImpossibleInput, match="Panel 2 is 0 mm wide"):
        panels(165.0, widths_mm=(55, 0))
    with pytest.raises(ImpossibleInput, match="Difference that matters is 0 mm"):
        panels(165.0, matters_mm=0)
    with pytest.raises(ImpossibleInput, match="Straight reading is 0 mm"):
        panels(0.0)
    with pytest.raises(ImpossibleInput, match="Number of panel nominals is 1 for 2 panels"):
        level.referee(
            [MM, MM],
            straight_nm=2 * MM,
            u_straight_nm=0.0,
            step_nm=MM,
            u_panel_nm=0.0,
            matters_nm=MM,
            display=SHOWN,
            nominals_nm=[MM],
        )
    with pytest.raises(ImpossibleInput, match="Reading is 0 mm"):
        level.edge_or_straight(0, straight_nm=MM, sag_nm=0, u_nm=0.0, display=SHOWN)
    with pytest.raises(ImpossibleInput, match="Uncertainty is nan nm"):
        level.edge_or_straight(MM, straight_nm=MM, sag_nm=0, u_nm=math.nan, display=SHOWN)
