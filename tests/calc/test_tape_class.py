"""Tapes: what a class promises, what a check finds, and which check speaks for a reading."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.calc import tape_class
from inventory.calc.errors import ImpossibleInput
from inventory.calc.tape_class import CheckedLength, CheckVerdict, DatedCheck, TapeCheck, TapeClass
from tests.calc.plans import MM
from tests.closeness import same_float

CLASSED = [TapeClass.I, TapeClass.II, TapeClass.III]
MONDAY = datetime(2026, 3, 2, 8, tzinfo=UTC)


def check(
    near: tuple[int, ...] = (300 * MM,),
    far: tuple[int, ...] = (600 * MM,),
    *,
    division_nm: int = MM,
    rule_u_nm: float = 0.0,
) -> TapeCheck:
    return TapeCheck(
        CheckedLength(300 * MM, near),
        CheckedLength(600 * MM, far),
        division_nm=division_nm,
        rule_u_nm=rule_u_nm,
    )


def found(
    verdict: CheckVerdict = CheckVerdict.GOOD, *, division_nm: int = MM // 10
) -> tape_class.CheckFindings:
    off = {CheckVerdict.GOOD: 0, CheckVerdict.NOT_GOOD: 5 * MM, CheckVerdict.CANNOT_TELL: MM}[verdict]
    findings = tape_class.evaluate(
        check(far=(600 * MM + off,), division_nm=division_nm),
        tape_class=TapeClass.UNCLASSED,
        allowed_nm=MM,
    )
    assert findings.verdict is verdict
    return findings


@given(st.sampled_from(CLASSED), st.integers(1, 30_000 * MM), st.booleans())
def test_the_limit_steps_up_only_behind_a_whole_metre(cls: TapeClass, nm: int, from_end: bool) -> None:  # noqa: FBT001
    limit = tape_class.mpe_nm(cls, nm, from_end=from_end)
    metre_up = -(-nm // (1000 * MM)) * 1000 * MM
    assert limit == tape_class.mpe_nm(cls, metre_up, from_end=from_end)
    assert limit < tape_class.mpe_nm(cls, metre_up + 1, from_end=from_end)
    assert limit <= tape_class.mpe_nm(cls, nm, from_end=True)


@given(st.integers(1, 30_000 * MM))
def test_a_better_class_may_be_off_less(nm: int) -> None:
    limits = [tape_class.mpe_nm(cls, nm) for cls in CLASSED]
    assert limits == sorted(set(limits))


def test_the_standard_uncertainty_is_that_of_an_even_spread_within_the_limit() -> None:
    drawn = np.random.default_rng(5).uniform(-0.5, 0.5, 200_000) * MM
    assert abs(drawn.std() / tape_class.tape_u_nm(TapeClass.II, 330 * MM) - 1) < 0.01


@pytest.mark.parametrize("length", [0, -MM])
def test_a_length_that_is_none_has_no_limit(length: int) -> None:
    with pytest.raises(ImpossibleInput, match="Give a length above zero"):
        tape_class.mpe_nm(TapeClass.I, length)


def test_a_tape_without_a_class_promises_nothing_until_the_shop_states_it() -> None:
    with pytest.raises(ImpossibleInput, match="without a class"):
        tape_class.mpe_nm(TapeClass.UNCLASSED, MM)
    for stated in (None, -1.0, math.nan, math.inf):
        with pytest.raises(ImpossibleInput, match="check the tape against a steel rule"):
            tape_class.tape_u_nm(TapeClass.UNCLASSED, MM, stated_u_nm=stated)
    assert tape_class.tape_u_nm(TapeClass.UNCLASSED, MM, stated_u_nm=800_000.0) == 800_000.0


@pytest.mark.parametrize("interval", [0, 10 * MM + 1])
def test_only_intervals_of_up_to_a_centimetre_have_a_limit_of_their_own(interval: int) -> None:
    with pytest.raises(ImpossibleInput, match="Interval of the scale"):
        tape_class.interval_mpe_nm(TapeClass.I, interval)


def test_a_tape_that_reads_one_percent_short_is_called_stretched() -> None:
    findings = tape_class.evaluate(check((297 * MM,), (594 * MM,)), tape_class=TapeClass.II)
    assert findings.verdict is CheckVerdict.NOT_GOOD
    assert same_float(findings.stretch, -0.01)
    assert abs(findings.start_nm) < 1
    assert any("stretched: it reads short, 1.0 %" in reason for reason in findings.reasons)
    assert not any("start" in reason for reason in findings.reasons)
    assert findings.reasons[-1] == "Take another tape, or correct its readings by this check."


def test_a_worn_end_is_called_a_wrong_start_and_not_stretch() -> None:
    findings = tape_class.evaluate(check((304 * MM,), (604 * MM,)), tape_class=TapeClass.III)
    assert findings.stretch == 0
    assert same_float(findings.start_nm, 4 * MM)
    assert any("start is off by +4.0 mm" in reason for reason in findings.reasons)
    assert not any("%" in reason for reason in findings.reasons)


def test_a_good_tape_read_to_a_tenth_is_good_and_read_to_a_millimetre_cannot_be_told() -> None:
    fine = tape_class.evaluate(check(division_nm=MM // 10), tape_class=TapeClass.II)
    coarse = tape_class.evaluate(check(division_nm=MM), tape_class=TapeClass.I, from_end=False)
    assert fine.verdict is CheckVerdict.GOOD
    assert coarse.verdict is CheckVerdict.CANNOT_TELL
    assert "this check is sure to 0.6 mm only" in coarse.reasons[0]
    assert "estimate tenths" in coarse.reasons[-1]


def test_one_bad_length_makes_the_tape_not_good() -> None:
    findings = tape_class.evaluate(check(far=(605 * MM,), division_nm=MM // 10), tape_class=TapeClass.II)
    assert findings.verdicts == (CheckVerdict.GOOD, CheckVerdict.NOT_GOOD)
    assert findings.verdict is CheckVerdict.NOT_GOOD


def test_a_ten_centimetre_error_is_a_slip_of_the_check() -> None:
    with pytest.raises(
        ImpossibleInput, match=r"\+100\.0 mm, and that is not a tape error. Was the tape laid"
    ):
        CheckedLength(300 * MM, (400 * MM,))
    with pytest.raises(ImpossibleInput, match=r"\N{MINUS SIGN}288\.2 mm, and that is not a tape error"):
        CheckedLength(300 * MM, (11_800_000,))


def test_two_lengths_too_near_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="100 mm, too little to tell stretch"):
        TapeCheck(CheckedLength(300 * MM, (300 * MM,)), CheckedLength(400 * MM, (400 * MM,)))


@pytest.mark.parametrize(
    ("rule", "readings", "words"),
    [
        (0, (MM,), "Give a length above zero"),
        (300 * MM, (), "Take at least one reading"),
        (300 * MM, (300 * MM, 320 * MM), "20 mm apart"),
    ],
)
def test_an_impossible_check_is_refused(rule: int, readings: tuple[int, ...], words: str) -> None:
    with pytest.raises(ImpossibleInput, match=words):
        CheckedLength(rule, readings)


def test_impossible_settings_of_a_check_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Division"):
        check(division_nm=-1)
    with pytest.raises(ImpossibleInput, match="Division"):
        check(rule_u_nm=math.nan)
    with pytest.raises(ImpossibleInput, match="Limit for a tape without a class is not stated"):
        tape_class.evaluate(check(), tape_class=TapeClass.UNCLASSED)
    with pytest.raises(ImpossibleInput, match="Limit for tapes"):
        tape_class.evaluate(check(), tape_class=TapeClass.I, allowed_nm=0)
    with pytest.raises(ImpossibleInput, match="Coverage factor"):
        tape_class.evaluate(check(), tape_class=TapeClass.I, coverage=-1)
    with pytest.raises(ImpossibleInput, match="Reading is 0 mm"):
        found().correct(0)


errors = st.integers(-9 * MM, 9 * MM)


@given(errors, errors, st.integers(1, 3_000 * MM))
def test_the_correction_is_the_straight_line_through_both_errors(near: int, far: int, nm: int) -> None:
    findings = tape_class.evaluate(check((300 * MM + near,), (600 * MM + far,)), tape_class=TapeClass.III)
    fixed = findings.correct(nm)
    assert math.isclose(fixed.error_nm, findings.start_nm + findings.stretch * nm, abs_tol=1.0)
    assert abs(fixed.corrected_nm - (nm - fixed.error_nm)) <= 0.5 + 1e-6
    assert fixed.beyond == (not 300 * MM <= nm <= 600 * MM)
    assert findings.uncorrected_u_nm(nm) >= fixed.u_nm


@given(errors, errors)
def test_at_the_checked_lengths_the_rule_comes_out_again(near: int, far: int) -> None:
    findings = tape_class.evaluate(check((300 * MM + near,), (600 * MM + far,)), tape_class=TapeClass.III)
    assert findings.correct(600 * MM).error_nm == pytest.approx(far, abs=1e-3)
    assert findings.correct(300 * MM).error_nm == pytest.approx(near, abs=1e-3)


@given(st.integers(601, 5000), st.integers(1, 2000))
def test_beyond_the_checked_lengths_a_correction_is_less_and_less_sure(mm: int, more: int) -> None:
    findings = tape_class.evaluate(check(rule_u_nm=100_000.0), tape_class=TapeClass.II)
    assert findings.correct((mm + more) * MM).u_nm > findings.correct(mm * MM).u_nm
    assert findings.correct(mm * MM).u_nm > findings.correct(600 * MM).u_nm


@given(errors, st.integers(1, 20 * MM), st.integers(0, 5 * MM))
def test_a_wider_limit_never_makes_a_tape_worse(off: int, allowed: int, more: int) -> None:
    order = [CheckVerdict.NOT_GOOD, CheckVerdict.CANNOT_TELL, CheckVerdict.GOOD]
    verdicts = [
        tape_class.evaluate(
            check((300 * MM + off,)), tape_class=TapeClass.UNCLASSED, allowed_nm=limit
        ).verdict
        for limit in (allowed, allowed + more)
    ]
    assert order.index(verdicts[0]) <= order.index(verdicts[1])


def test_repeats_tell_the_spread_and_its_degrees_of_freedom() -> None:
    once = tape_class.evaluate(check(), tape_class=TapeClass.II)
    twice = tape_class.evaluate(
        check((299 * MM, 301 * MM), (599 * MM, 601 * MM), division_nm=0), tape_class=TapeClass.II
    )
    assert once.dof is None
    assert twice.dof == 2
    # Both pairs have an SD of √2 mm; a mean of two has 1 mm.
    assert same_float(twice.reading_u_nm[0], MM)


def test_the_stated_uncertainty_of_a_correction_is_the_spread_of_simulated_checks() -> None:
    rng = np.random.default_rng(11)
    near = 300 * MM + rng.normal(0, 0.5, 20_000) * MM
    far = 600 * MM + rng.normal(0, 0.5, 20_000) * MM
    line = near - 300 * MM + (far - near - 300 * MM) * (900 - 300) / 300
    stated = tape_class.evaluate(check(division_nm=round(0.5 * math.sqrt(12) * MM)), tape_class=TapeClass.II)
    assert abs(line.std() / stated.correct(900 * MM).u_nm - 1) < 0.02


def test_the_newest_check_not_later_than_the_reading_speaks_for_it() -> None:
    checks = [DatedCheck(MONDAY + timedelta(days=day), found(), key=day) for day in (7, 0, 14)]
    assert tape_class.newest_check(checks, at=MONDAY - timedelta(hours=1)) is None
    assert tape_class.newest_check(checks, at=MONDAY) is checks[1]
    assert tape_class.newest_check(checks, at=MONDAY + timedelta(days=13)) is checks[0]
    assert tape_class.newest_check([*checks, checks[0]], at=MONDAY + timedelta(days=7)) is checks[0]
    assert tape_class.newest_check([], at=MONDAY) is None


@given(st.lists(st.integers(0, 30), min_size=1, max_size=6, unique=True), st.integers(0, 31))
def test_no_check_lies_between_the_chosen_one_and_the_reading(days: list[int], day: int) -> None:
    findings = found()
    checks = [DatedCheck(MONDAY + timedelta(days=made), findings) for made in days]
    chosen = tape_class.newest_check(checks, at=MONDAY + timedelta(days=day))
    earlier = [made for made in days if made <= day]
    assume(bool(earlier))
    assert chosen is not None
    assert chosen.made_at == MONDAY + timedelta(days=max(earlier))


def test_times_with_and_without_a_zone_are_not_compared() -> None:
    with pytest.raises(ImpossibleInput, match="Give all times with one"):
        tape_class.newest_check([DatedCheck(MONDAY, found())], at=MONDAY.replace(tzinfo=None))


def test_a_bad_check_puts_all_readings_since_the_last_good_one_in_doubt() -> None:
    good, bad, unsure = CheckVerdict.GOOD, CheckVerdict.NOT_GOOD, CheckVerdict.CANNOT_TELL
    story = [good, unsure, bad, bad, good, bad]
    checks = [
        DatedCheck(
            MONDAY + timedelta(days=day),
            found(verdict, division_nm=MM if verdict is unsure else MM // 10),
            key=day,
        )
        for day, verdict in enumerate(story)
    ]
    first, second = tape_class.readings_in_doubt(list(reversed(checks)))
    assert (first.after, first.up_to, first.found_by.key) == (MONDAY, MONDAY + timedelta(days=3), 2)
    assert (second.after, second.up_to) == (MONDAY + timedelta(days=4), MONDAY + timedelta(days=5))
    assert tape_class.readings_in_doubt(checks[:2]) == ()
    assert tape_class.readings_in_doubt(checks[2:3])[0].after is None
