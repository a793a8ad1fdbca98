"""The inspection sheet says what was taken off for the tape."""

from __future__ import annotations

import datetime as dt

import pytest

from tests.factories import NOW, make_inspection, make_instrument, make_tape_check, measure_all
from tests.reports.pdf.test_sheets import judged, sheet_of

pytestmark = pytest.mark.django_db


def test_the_sheet_names_correction_tape_and_check() -> None:
    tape = make_instrument(number="T1")
    make_tape_check(tape, near_mm=-0.5, far_mm=-0.5, at=NOW - dt.timedelta(days=1))
    sitting = make_inspection(instrument=tape)
    measure_all(sitting)
    text = sheet_of(judged(sitting))
    assert "Readings corrected by +0.5 mm (tape T1, check of 1 Mar 2026)" in text


def test_without_a_check_the_sheet_says_nothing_of_corrections() -> None:
    sitting = make_inspection(instrument=make_instrument())
    measure_all(sitting)
    assert "corrected by" not in sheet_of(judged(sitting))
