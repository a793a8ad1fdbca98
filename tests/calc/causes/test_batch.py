"""What a batch refuses before any cause is looked for, and what is taken where nothing was said."""

from dataclasses import replace

import pytest

from inventory.calc.causes import (
    WORDS,
    Batch,
    Cause,
    Elsewhere,
    Grain,
    Piece,
    Point,
    PointKind,
    Reading,
    Witness,
    rank_causes,
)
from inventory.calc.errors import ImpossibleInput

MM = 1_000_000
WAIST = Point("WA", PointKind.HALF, 1 * MM, 1 * MM)
PIECE = Piece("1", size=0)
READING = Reading("1", "WA", "L", "ann", "blue", 330 * MM, 2 * MM)
TWO = (READING, replace(READING, side="R", order=1))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            {"readings": TWO[:1]},
            "Number of readings is 1. Measure at least two points before asking why.",
        ),
        ({"points": (WAIST, WAIST)}, "Point WA is given 2 times. Give it once."),
        ({"pieces": (PIECE, PIECE, PIECE)}, "Piece 1 is given 3 times. Give it once."),
        ({"points": ()}, "Point WA is read, but not among those given. Add the point."),
        ({"pieces": ()}, "Piece 1 is read, but not among those given. Add the piece."),
        (
            {"readings": (READING, replace(READING, nominal_nm=0))},
            "Nominal of WA, piece 1 is 0 nm. Give a length above zero.",
        ),
        (
            {"readings": (READING, replace(READING, order=-1))},
            "Order of WA, piece 1 is -1. Count readings from 0.",
        ),
    ],
)
def test_a_batch_that_cannot_be_is_refused_with_the_cure(change: dict[str, object], said: str) -> None:
    good: dict[str, object] = {"points": (WAIST,), "pieces": (PIECE,), "readings": TWO}
    with pytest.raises(ImpossibleInput) as refused:
        Batch(**{**good, **change})  # type: ignore[arg-type]  # one field at a time is put wrong
    assert str(refused.value) == said


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"repeat_nm": -1}, "Same person SD of WA is -1 nm, below zero. Give zero or more."),
        ({"person_nm": -2}, "SD between people of WA is -2 nm, below zero. Give zero or more."),
        ({"spread_nm": -3}, "Maker's spread of WA is -3 nm, below zero. Give zero or more."),
        ({"seams": -4}, "Seams crossed by WA is -4. Give zero or more."),
    ],
)
def test_a_point_that_cannot_be_is_refused_with_the_cure(change: dict[str, int], said: str) -> None:
    with pytest.raises(ImpossibleInput) as refused:
        replace(WAIST, **change)  # type: ignore[arg-type]  # one field at a time is put wrong
    assert str(refused.value) == said


@pytest.mark.parametrize("u_nm", [0.0, -1.0, float("nan")])
def test_a_witness_without_uncertainty_is_refused(u_nm: float) -> None:
    with pytest.raises(ImpossibleInput, match=r"Uncertainty of check is .* nm\. Give a figure above zero"):
        Elsewhere(Witness.CHECK_GARMENT, "check", 330 * MM, 0, u_nm, is_girth=True)


def test_girths_lie_across_the_cloth_and_lengths_along_it_unless_said_otherwise() -> None:
    length, placement = (replace(WAIST, kind=kind) for kind in (PointKind.LENGTH, PointKind.PLACEMENT))
    assert WAIST.lies_in is Grain.WEFT
    assert length.lies_in is Grain.WARP
    assert placement.lies_in is None
    assert replace(WAIST, grain=Grain.WARP).lies_in is Grain.WARP


def test_equal_readings_without_any_spread_stated_still_get_an_answer() -> None:
    flat = Point("WA", PointKind.HALF, 0, 0, spread_nm=0)
    same = tuple(replace(reading, deviation_nm=0) for reading in TWO)
    ranking = rank_causes(Batch((flat,), (PIECE,), same))
    assert ranking.nothing > 0.4


def test_what_cannot_be_looked_for_is_said() -> None:
    ranking = rank_causes(Batch((WAIST,), (PIECE,), TWO))
    assert set(ranking.not_looked_for) == {
        Cause.TECHNIQUE,
        Cause.GRADING,
        Cause.LABEL,
        Cause.PANEL,
        Cause.BINDING,
        Cause.WAIST_TAPE,
        Cause.WORN,
        Cause.OLD_SPEC,
        Cause.STACK,
    }
    assert all(WORDS[cause].needs for cause in ranking.not_looked_for)


def test_placements_alone_show_neither_seams_nor_cloth() -> None:
    placement = replace(WAIST, kind=PointKind.PLACEMENT)
    ranking = rank_causes(Batch((placement,), (PIECE,), TWO))
    unseen = {Cause.SEAMS, Cause.CLOTH}
    assert unseen <= set(ranking.not_looked_for)
    assert all(WORDS[cause].needs for cause in unseen)
