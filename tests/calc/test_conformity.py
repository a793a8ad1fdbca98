"""Verdicts: on the limit, around the guard band, at the end of the repeats, and what must always hold."""

import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc import conformity
from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Limits, Rule, Verdict, decide
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, parse
from tests.calc.plans import INCH, MM, PLAIN, rule_pairs, small_lengths
from tests.closeness import FLOAT_NOISE

SIX = Limits(-6 * MM, 6 * MM)
uncertainties = st.one_of(st.integers(0, 8).map(lambda n: n * MM / 4), st.floats(0, 5 * MM))
values = small_lengths.flatmap(lambda size: st.sampled_from((-size, size)))


@st.composite
def limits_drawn(draw: st.DrawFn) -> Limits:
    lower = draw(values)
    return Limits(lower, lower + draw(small_lengths))


@pytest.mark.parametrize("value", [-6 * MM, 6 * MM, 0])
def test_a_value_exactly_on_the_limit_with_no_guard_band_is_in(value: int) -> None:
    assert decide(value, SIX, u_nm=0.0, rule=DEFAULT_SHELF).verdict is Verdict.IN
    assert decide(value, SIX, u_nm=2.0 * MM, rule=PLAIN).verdict is Verdict.IN


@pytest.mark.parametrize("value", [-6 * MM - 1, 6 * MM + 1])
def test_one_nanometre_past_the_limit_with_no_guard_band_is_out(value: int) -> None:
    decision = decide(value, SIX, u_nm=0.0, rule=DEFAULT_SHELF)
    assert decision.verdict is Verdict.OUT
    assert decision.beyond_nm == 1


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (2_710_000, Verdict.IN),
        (2_710_001, Verdict.CLOSE),
        (6_000_000, Verdict.CLOSE),
        (9_290_000, Verdict.CLOSE),
        (9_290_001, Verdict.OUT),
    ],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_the_guard_band_reaches_the_same_way_into_and_out_of_the_limits(
    value: int, verdict: Verdict, sign: int
) -> None:
    """±6 mm, SD 2 mm: 1.645 × 2 = 3.29 mm each way."""
    decision = decide(sign * value, SIX, u_nm=2.0 * MM, rule=DEFAULT_SHELF)
    assert decision.verdict is verdict
    assert decision.guard_nm == 3_290_000
    assert not decision.by_final_rule


def test_the_guard_band_is_rounded_up_to_whole_nanometres() -> None:
    assert conformity.guard_nm(1.0, DEFAULT_SHELF) == 2
    assert conformity.guard_nm(1_000.0, DEFAULT_SHELF) == 1_645
    assert conformity.guard_nm(0.0, DEFAULT_SHELF) == 0


def test_limits_that_are_one_single_value_can_be_met() -> None:
    exact = Limits(5, 5)
    assert decide(5, exact, u_nm=0.0, rule=DEFAULT_SHELF).verdict is Verdict.IN
    assert decide(6, exact, u_nm=0.0, rule=DEFAULT_SHELF).verdict is Verdict.OUT
    assert decide(5, exact, u_nm=1.0, rule=DEFAULT_SHELF).verdict is Verdict.CLOSE


def test_limits_upside_down_are_refused_by_value() -> None:
    with pytest.raises(ImpossibleInput, match="Lower limit is 520 mm, above the upper limit 500 mm"):
        Limits(520 * MM, 500 * MM)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_an_impossible_uncertainty_is_refused(bad: float) -> None:
    with pytest.raises(ImpossibleInput, match="Uncertainty"):
        decide(0, SIX, u_nm=bad, rule=DEFAULT_SHELF)
    with pytest.raises(ImpossibleInput, match="Uncertainty"):
        conformity.probability_in(0, SIX, u_nm=bad)


@pytest.mark.parametrize("bad", [Decimal(-1), Decimal("NaN"), Decimal("Infinity")])
def test_a_rule_with_an_impossible_multiplier_is_refused(bad: Decimal) -> None:
    with pytest.raises(ImpossibleInput, match="Multiplier of the rule"):
        Rule(code="x", version=1, purpose="shelf", multiplier=bad)


def test_a_rule_that_allows_no_reading_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Number of repeats in the rule is 0"):
        Rule(code="x", version=1, purpose="shelf", multiplier=Decimal(1), max_repeats=0)


def test_a_claim_rule_that_ends_plainly_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="what is not proved is not claimed"):
        Rule(code="x", version=1, purpose="claim", multiplier=Decimal(2), at_the_end="plain")


def test_after_the_last_repeat_the_shelf_rule_compares_plainly() -> None:
    third = decide(6 * MM, SIX, u_nm=2.0 * MM, rule=DEFAULT_SHELF, readings=3)
    fourth = decide(6 * MM, SIX, u_nm=2.0 * MM, rule=DEFAULT_SHELF, readings=4)
    past = decide(6 * MM + 1, SIX, u_nm=2.0 * MM, rule=DEFAULT_SHELF, readings=5)
    assert (third.verdict, third.by_final_rule) == (Verdict.CLOSE, False)
    assert (fourth.verdict, fourth.by_final_rule) == (Verdict.IN, True)
    assert (past.verdict, past.by_final_rule, past.beyond_nm) == (Verdict.OUT, True, 1)


def test_the_final_rule_takes_no_credit_for_a_clear_verdict() -> None:
    assert not decide(0, SIX, u_nm=1.0 * MM, rule=DEFAULT_SHELF, readings=4).by_final_rule


def test_the_claim_rule_stays_too_close_to_call_at_the_end() -> None:
    decision = decide(7 * MM, SIX, u_nm=1.0 * MM, rule=DEFAULT_CLAIM, readings=9)
    assert decision.verdict is Verdict.CLOSE
    assert not decision.by_final_rule
    assert decision.beyond_nm == MM


def test_a_guard_band_of_exactly_the_tolerance_leaves_the_one_value_in_the_middle() -> None:
    assert conformity.guard_nm(3.0 * MM, DEFAULT_CLAIM) == 6 * MM
    assert conformity.can_be_judged(SIX, 3.0 * MM, DEFAULT_CLAIM)
    assert decide(0, SIX, u_nm=3.0 * MM, rule=DEFAULT_CLAIM).verdict is Verdict.IN
    assert decide(1, SIX, u_nm=3.0 * MM, rule=DEFAULT_CLAIM).verdict is Verdict.CLOSE


def test_a_guard_band_wider_than_the_tolerance_never_says_in() -> None:
    wide = 4.0 * MM
    assert not conformity.can_be_judged(SIX, wide, DEFAULT_SHELF)
    assert decide(0, SIX, u_nm=wide, rule=DEFAULT_SHELF).verdict is Verdict.CLOSE
    assert conformity.can_be_judged(SIX, 3.6 * MM, DEFAULT_SHELF)
    assert decide(0, SIX, u_nm=3.6 * MM, rule=DEFAULT_SHELF).verdict is Verdict.IN


@given(
    value=values,
    limits=limits_drawn(),
    u=uncertainties,
    more=uncertainties,
    rules=rule_pairs(),
    readings=st.integers(1, 5),
)
def test_more_uncertainty_never_settles_what_was_too_close(
    *, value: int, limits: Limits, u: float, more: float, rules: tuple[Rule, Rule], readings: int
) -> None:
    for rule in rules:
        sure = decide(value, limits, u_nm=u, rule=rule, readings=readings)
        unsure = decide(value, limits, u_nm=u + more, rule=rule, readings=readings)
        if sure.verdict is Verdict.CLOSE:
            assert unsure.verdict is Verdict.CLOSE
        if unsure.verdict is not Verdict.CLOSE:
            assert unsure.verdict is sure.verdict


@given(st.lists(values, min_size=2, max_size=2).map(sorted), limits_drawn(), uncertainties, rule_pairs())
def test_further_from_the_middle_is_never_better(
    pair: list[int], limits: Limits, u: float, rules: tuple[Rule, Rule]
) -> None:
    middle2 = limits.lower_nm + limits.upper_nm
    near, far = sorted(pair, key=lambda v: abs(2 * v - middle2))
    for rule in rules:
        verdicts = [decide(v, limits, u_nm=u, rule=rule, readings=4).verdict for v in (near, far)]
        assert conformity.worst(verdicts) is verdicts[1]


@given(values, limits_drawn(), uncertainties, rule_pairs())
def test_turning_the_scale_round_keeps_the_verdict(
    value: int, limits: Limits, u: float, rules: tuple[Rule, Rule]
) -> None:
    turned = Limits(-limits.upper_nm, -limits.lower_nm)
    for rule in rules:
        assert decide(value, limits, u_nm=u, rule=rule) == decide(-value, turned, u_nm=u, rule=rule)


@given(values, limits_drawn(), st.integers(-(10**9), 10**9), uncertainties)
def test_only_the_distance_to_the_limits_matters(value: int, limits: Limits, shift: int, u: float) -> None:
    moved = Limits(limits.lower_nm + shift, limits.upper_nm + shift)
    assert decide(value + shift, moved, u_nm=u, rule=DEFAULT_SHELF) == decide(
        value, limits, u_nm=u, rule=DEFAULT_SHELF
    )


@given(st.integers(13 * 16, 14 * 16), uncertainties)
def test_the_same_length_typed_in_any_unit_gets_the_same_decision(sixteenths: int, u: float) -> None:
    """13 1/2 in ± 1/4 in; the same reading in inches, centimetres and millimetres."""
    limits = Limits(INCH * 53 // 4, INCH * 55 // 4)
    exact_mm = Decimal(sixteenths) * Decimal("25.4") / 16
    typed = {
        Unit.INCH: f"13 {sixteenths - 13 * 16}/16",
        Unit.MM: f"{exact_mm:f}",
        Unit.CM: f"{exact_mm / 10:f}",
    }
    if sixteenths in (13 * 16, 14 * 16):
        typed[Unit.INCH] = str(sixteenths // 16)
    decisions = {
        decide(parse(text, unit=unit).nm, limits, u_nm=u, rule=DEFAULT_SHELF) for unit, text in typed.items()
    }
    assert len(decisions) == 1


def test_the_worst_verdict_decides() -> None:
    assert conformity.worst([Verdict.IN, Verdict.OUT, Verdict.CLOSE]) is Verdict.OUT
    assert conformity.worst([Verdict.IN, Verdict.CLOSE]) is Verdict.CLOSE
    assert conformity.worst([Verdict.IN]) is Verdict.IN


def test_there_is_no_worst_of_nothing() -> None:
    with pytest.raises(ImpossibleInput, match="Judge at least one point first"):
        conformity.worst([])


def test_codes_and_verdicts_name_each_other() -> None:
    assert [conformity.VERDICT_OF_CODE[conformity.code_of(v)] for v in Verdict] == list(Verdict)


@given(
    rows=st.lists(st.tuples(values, limits_drawn(), st.integers(0, 4 * MM)), max_size=20),
    scalar_bounds=st.booleans(),
)
def test_many_values_get_the_verdicts_of_one_at_a_time(
    *, rows: list[tuple[int, Limits, int]], scalar_bounds: bool
) -> None:
    if scalar_bounds and rows:
        rows = [(value, rows[0][1], rows[0][2]) for value, _, _ in rows]
    # u = guard with a multiplier of one, so the guard band is the drawn one.
    rule = Rule(code="one", version=1, purpose="shelf", multiplier=Decimal(1), at_the_end="stays_close")
    one = [conformity.code_of(decide(v, limits, u_nm=float(g), rule=rule).verdict) for v, limits, g in rows]
    value = np.array([v for v, _, _ in rows], np.int64)
    if scalar_bounds and rows:
        _, limits, guard = rows[0]
        many = conformity.decide_many(value, limits.lower_nm, limits.upper_nm, guard)
    else:
        lower = np.array([limits.lower_nm for _, limits, _ in rows], np.int64)
        upper = np.array([limits.upper_nm for _, limits, _ in rows], np.int64)
        many = conformity.decide_many(value, lower, upper, np.array([g for _, _, g in rows], np.int64))
    assert many.tolist() == one
    assert many.dtype == np.int8


def test_a_long_array_is_graded_across_its_slices() -> None:
    value = np.arange(-100_000, 100_000, dtype=np.int64)
    codes = conformity.decide_many(value, -50_000, 50_000, np.full(200_000, 1_000))
    assert np.bincount(codes).tolist() == [98_001, 4_000, 97_999]
    again = conformity.decide_many(value.reshape(2, -1), -50_000, 50_000, 1_000)
    assert (again.ravel() == codes).all()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((np.array([1.5]), 0, 2, 0), "Value is of type float64, not whole nanometres"),
        ((np.array([1]), 0, 2, -1), "Guard band is −0.000001 mm, below zero"),
        ((np.array([1]), 3, 2, 0), "Lower limit is above the upper limit"),
    ],
)
def test_many_values_refuse_what_cannot_be(arguments: tuple[object, ...], words: str) -> None:
    with pytest.raises(ImpossibleInput, match=words):
        conformity.decide_many(*arguments)  # type: ignore[arg-type]  # wrong on purpose


def test_without_uncertainty_the_probability_is_certain() -> None:
    assert conformity.probability_in(6 * MM, SIX, u_nm=0) == 1
    assert conformity.probability_in(6 * MM + 1, SIX, u_nm=0) == 0


@given(st.integers(-40 * MM, 40 * MM), limits_drawn(), st.floats(1.0, 5 * MM))
def test_the_probability_is_one_and_falls_off_the_same_way_on_both_sides(
    value: int, limits: Limits, u: float
) -> None:
    found = conformity.probability_in(value, limits, u_nm=u)
    mirrored = conformity.probability_in(limits.lower_nm + limits.upper_nm - value, limits, u_nm=u)
    assert 0 <= found <= 1
    assert abs(found - mirrored) <= FLOAT_NOISE


def test_the_share_of_wrong_verdicts_in_a_simulation_is_the_one_computed() -> None:
    """A piece truly 7 mm off, ±6 mm, SD 2 mm: how often is one reading called in, by either rule?"""
    rng = np.random.default_rng(7)
    readings = np.rint(rng.normal(7 * MM, 2 * MM, 400_000)).astype(np.int64)
    plain = conformity.decide_many(readings, -6 * MM, 6 * MM, 0)
    guarded = conformity.decide_many(readings, -6 * MM, 6 * MM, conformity.guard_nm(2.0 * MM, DEFAULT_SHELF))
    share_plain = float((plain == conformity.IN_CODE).mean())
    share_guarded = float((guarded == conformity.IN_CODE).mean())
    # Standard error of the share: √(0.31·0.69/400 000) = 0.0007; four of them are allowed.
    assert share_plain == pytest.approx(conformity.probability_in(7 * MM, SIX, u_nm=2.0 * MM), abs=0.003)
    narrowed = Limits(-2_710_000, 2_710_000)
    expected = conformity.probability_in(7 * MM, narrowed, u_nm=2.0 * MM)
    assert share_guarded == pytest.approx(expected, abs=0.001)
    assert share_guarded < share_plain / 10


@pytest.mark.parametrize("sd_mm", [1.0, 1.5, 2.0])
def test_at_the_limit_at_most_one_in_twenty_is_wrongly_called_in_or_out(sd_mm: float) -> None:
    u = sd_mm * MM
    guard = conformity.guard_nm(u, DEFAULT_SHELF)
    called_in = conformity.probability_in(6 * MM, Limits(-6 * MM + guard, 6 * MM - guard), u_nm=u)
    assert called_in <= 0.05
    called_out = 1 - conformity.probability_in(6 * MM, Limits(-6 * MM - guard, 6 * MM + guard), u_nm=u)
    assert called_out <= 0.05
