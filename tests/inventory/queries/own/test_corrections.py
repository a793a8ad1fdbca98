"""What a stored verdict says of its tapes."""

from __future__ import annotations

from inventory.calc.length import Display, Unit
from inventory.queries.own.corrections import correction_words

MM = Display(unit=Unit.MM, denominator=None)
ENTRY = {
    "number": "T1",
    "low_nm": 400_000,
    "high_nm": 400_000,
    "checked_at": "2026-11-12T09:00:00+00:00",
    "found_at": None,
}


def test_one_figure_is_told_with_its_tape_and_check() -> None:
    assert correction_words({"tapes": [ENTRY]}, MM) == (
        "corrected by +0.4 mm (tape T1, check of 12 Nov 2026)",
    )


def test_a_tape_that_is_off_in_proportion_is_told_from_shortest_to_longest() -> None:
    (text,) = correction_words({"tapes": [ENTRY | {"high_nm": 1_200_000}]}, MM)
    assert text.startswith("corrected by +0.4 to +1.2 mm (")


def test_of_a_tape_found_wrong_the_middle_is_named_as_such() -> None:
    found = {"found_at": "2026-11-20T09:00:00+00:00"}
    (text,) = correction_words({"tapes": [ENTRY | found]}, MM)
    assert "the middle of what it may have been off" in text
    assert text.endswith("(tape T1, good on 12 Nov 2026, found wrong on 20 Nov 2026)")
    (never,) = correction_words({"tapes": [ENTRY | found | {"checked_at": None}]}, MM)
    assert "never found good before" in never


def test_without_corrections_nothing_is_said() -> None:
    assert correction_words(None, MM) == ()
