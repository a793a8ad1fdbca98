"""Causes in words, and drawn."""

from __future__ import annotations

import datetime as dt
import re
from xml.etree import ElementTree as ET

import pytest

from inventory.calc.causes import Effect, EffectUnit, Mean, Where
from inventory.calc.length import Display, Unit
from inventory.queries.causes import wording
from inventory.queries.causes.shifts import Shift, ShiftLine
from inventory.templatetags.shift_pictures import shift_picture
from tests.factories import MM

MILLIMETRES = Display(Unit.MM)
AT = dt.datetime(2026, 3, 2, 9, 0, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("value", "u", "unit", "words"),
    [
        (6 * MM, MM, EffectUnit.NM, "+6.0 mm ± 2.0 mm"),
        (-0.9 * MM, 0.1 * MM, EffectUnit.NM_PER_SEAM, "−0.9 mm ± 0.2 mm a seam"),
        (2.5 * MM, 0.25 * MM, EffectUnit.NM_PER_SIZE, "+2.5 mm ± 0.5 mm a size"),
        (-0.012, 0.001, EffectUnit.SHARE, "−1.20 % ± 0.20 %"),
        (-8 * MM, MM, EffectUnit.NM_TOO_LOW, "the line 8 mm ± 2.0 mm too high"),
        (1.0, 0.05, EffectUnit.STEPS, "1.00 ± 0.10 of the step to the other nominals"),
        (
            2.0,
            0.25,
            EffectUnit.TIMES_WIDER,
            "second halves of the bundles 2.0 ± 0.5 times as wide as the first",
        ),
    ],
)
def test_an_effect_is_said_in_its_own_unit(value: float, u: float, unit: EffectUnit, words: str) -> None:
    assert wording.effect_in_words(Effect(Where(), value, u, unit), MILLIMETRES) == words


@pytest.mark.parametrize(
    ("where", "words"),
    [
        (Where(), ""),
        (Where(pieces=("P000012",), side="L", codes=("UB", "WA")), "P000012, left, at UB, WA"),
        (Where(person="Ann"), "read by Ann"),
        (Where(tape="T1", since=1), "with T1, from 02 Mar 2026, 09:10 on"),
        (Where(codes=("WA",), size="24"), "at WA, counted from size 24"),
        (Where(pieces=("P000012",), size="26", fits_size=1), "P000012, fits size 26"),
        (Where(pieces=("P000012",), fits_size=-1), "P000012, fits the next smaller size"),
    ],
)
def test_the_place_of_a_cause_is_said(where: Where, words: str) -> None:
    assert wording.where_in_words(where, (AT, AT + dt.timedelta(minutes=10))) == words


def test_a_chance_is_never_said_as_certain() -> None:
    assert [wording.chance_in_words(p) for p in (0.0, 0.004, 0.5, 0.991, 1.0)] == [
        "under 1 %",
        "under 1 %",
        "50 %",
        "over 99 %",
        "over 99 %",
    ]


def test_what_speaks_against_is_said_with_both_figures() -> None:
    mean = Mean("CF", 6 * MM, 0, 0.5 * MM, elsewhere=False)
    assert wording.against_in_words(mean, MILLIMETRES) == "CF: off by +6.0 mm, not by 0.0 mm"


def test_a_picture_keeps_its_order_its_scale_and_its_names() -> None:
    lines = (
        ShiftLine("WA", {"L": Shift(8.0 * MM, 2.0 * MM, 9), "R": Shift(-4.0 * MM, None, 1)}),
        ShiftLine("a very long name <i>", {"S": Shift(0.0, 1.0 * MM, 5)}),
    )
    drawn = shift_picture(lines, title="Means & more", display=MILLIMETRES)
    root = ET.fromstring(drawn)  # noqa: S314  # our own drawing
    assert (root.get("role"), root.get("aria-label")) == ("img", "Means & more")
    names = [text.text for text in root.iter("text")]
    assert names == ["−10.0 mm", "0.0 mm", "+10.0 mm", "WA", "a very lon…"]
    left, right, single = (
        float(str(mark.get("x")).rstrip("%")) for mark in root.iter("svg") if mark.get("x")
    )
    assert right < single < left <= 100
    assert (left - single) == pytest.approx(2 * (single - right), abs=0.02)
    assert not re.search(r'style=|on\w+="', drawn)
    assert shift_picture((), title="", display=MILLIMETRES) == ""
