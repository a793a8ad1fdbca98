"""How many more readings: against a simulated bench, in plain cases, and what must always hold."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.calc import conformity, risk, uncertainty
from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Limits, Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.risk import MakerSpread, Outlook, TakenAs
from inventory.calc.uncertainty import ReadingError
from tests.calc.plans import MM

SIX = Limits(-6 * MM, 6 * MM)


def ahead(value: int, error: ReadingError, *, readings: int = 1, people: int = 1) -> Outlook:
    return risk.outlook(value, SIX, error=error, readings=readings, people=people, rule=DEFAULT_SHELF)


@pytest.mark.parametrize("another", [False, True])
@pytest.mark.parametrize("maker", [None, MakerSpread(1.0 * MM, 3.0 * MM)], ids=["unknown", "known"])
def test_the_chances_are_those_of_a_simulated_bench(*, another: bool, maker: MakerSpread | None) -> None:
    """Two readings by one person averaged 5.0 mm; two more. Benches that read so are kept of 6 million."""
    rng = np.random.default_rng(11)
    error, n, k, mean = ReadingError(2 * MM, MM, fixed_sd_nm=MM // 2), 2, 2, 5.0
    size = 6_000_000
    true = rng.uniform(-12, 22, size) if maker is None else rng.normal(1.0, 3.0, size)
    habit, tape = rng.normal(0, 1.0, size), rng.normal(0, 0.5, size)
    first = true + habit + tape + rng.normal(0, 2.0 / np.sqrt(n), size)
    kept = np.abs(first - mean) < 0.05
    true, habit, tape, first = true[kept], habit[kept], tape[kept], first[kept]
    if another:
        habit = rng.normal(0, 1.0, kept.sum())
    after = (n * first + k * (true + habit + tape + rng.normal(0, 2.0 / np.sqrt(k), kept.sum()))) / (n + k)
    guard = 1.645 * uncertainty.of_mean(error, readings=n + k, people=1 + another) / MM
    found = risk.outlook(round(mean * MM), SIX, error=error, readings=n, rule=DEFAULT_SHELF, maker=maker)
    (chance,) = (c for c in found.chances if (c.more, c.another_person) == (k, another))
    good = np.abs(true) <= 6
    simulated = [
        (np.abs(after) <= 6 - guard).mean(),
        (np.abs(after) > 6 + guard).mean(),
        (np.abs(after) > 6).mean(),
        ((np.abs(after) <= 6) != good).mean(),
        (~good).mean(),
    ]
    worked_out = [chance.settles_in, chance.settles_out, chance.changes, chance.wrong, found.wrong_now]
    # About 17,000 benches or more are kept: four standard errors of a share of a half are 0.016.
    assert kept.sum() > 15_000
    assert np.abs(np.subtract(simulated, worked_out)).max() < 0.016


def test_four_readings_settle_what_lies_half_a_guard_band_off() -> None:
    """1.645 × 2 mm = 3.29 mm; 1.7 mm inside the limit it takes a mean of four."""
    found = ahead(4_300_000, ReadingError(2 * MM, 0))
    assert (found.same_person, found.another_person, found.left) == (3, 3, 3)


def test_a_person_part_too_large_asks_for_another_person() -> None:
    found = ahead(4 * MM, ReadingError(MM // 2, 1_500_000))
    assert found.same_person is None
    assert found.another_person == 1
    assert found.sentence.startswith(
        "The same person cannot settle it; if the mean stays, 1 more by another person will."
    )


def test_a_value_on_the_limit_is_settled_by_nobody() -> None:
    found = ahead(6 * MM, ReadingError(2 * MM, MM))
    assert (found.same_person, found.another_person) == (None, None)
    assert "no reading the rule still allows settles it: it is too near the limit" in found.sentence
    assert abs(found.wrong_now - 0.5) < 1e-6


def test_a_clear_value_needs_nothing() -> None:
    found = ahead(0, ReadingError(MM, 0))
    assert (found.verdict, found.same_person, found.chances) == (Verdict.IN, 0, ())
    assert found.sentence == "This is clear: no further reading is needed."


def test_after_the_last_reading_the_rule_allows_no_more() -> None:
    found = ahead(5_900_000, ReadingError(MM, 0), readings=4)
    assert (found.left, found.chances) == (0, ())
    assert found.sentence == "The rule allows no further reading."


@settings(max_examples=60)
@given(
    st.integers(-12 * MM, 12 * MM),
    st.builds(ReadingError, st.integers(MM // 2, 3 * MM), st.integers(0, 2 * MM), st.integers(0, MM)),
    st.integers(1, 3),
)
def test_what_must_always_hold_of_an_outlook(value: int, error: ReadingError, readings: int) -> None:
    found = ahead(value, error, readings=readings)
    mirrored = ahead(-value, error, readings=readings)
    assert (found.same_person, found.another_person) == (mirrored.same_person, mirrored.another_person)
    assert (found.another_person or 0) <= (found.same_person or 101)
    for chance, other in zip(found.chances, mirrored.chances, strict=True):
        assert abs(chance.settles - other.settles) < 1e-9
        assert 0 <= chance.settles <= 1 + 1e-9
        assert -1e-9 <= chance.wrong <= 1
    if found.same_person:
        for more, settled in ((found.same_person, True), (found.same_person - 1, False)):
            u = uncertainty.of_mean(error, readings=readings + more)
            verdict = conformity.decide(value, SIX, u_nm=u, rule=DEFAULT_SHELF).verdict
            assert (verdict is not Verdict.CLOSE) is settled


@pytest.mark.parametrize("taken_as", TakenAs)
def test_a_round_of_reading_adds_what_the_judge_reckons_with(taken_as: TakenAs) -> None:
    error = ReadingError(1_500_000, 700_000, 300_000, repeat_dof=9, person_dof=3)
    judged = {
        TakenAs.SIDE: uncertainty.mean(error, readings=3),
        TakenAs.SUM: uncertainty.full_from_halves(error, left_readings=3, right_readings=3),
        TakenAs.TWICE: uncertainty.full_from_one_half(error, readings=3, pair_sd_nm=0.0),
        TakenAs.DIFFERENCE: uncertainty.difference(error, left_readings=3, right_readings=3),
    }[taken_as]
    found = uncertainty.mean(risk.round_error(error, taken_as), readings=3)
    assert abs(found.u_nm - judged.u_nm) < 1
    assert found.dof == judged.dof


def test_readings_worth_their_minutes_and_readings_that_are_not() -> None:
    close = ahead(5 * MM, ReadingError(2 * MM, MM))
    dear, cheap = (
        risk.worth_it(
            close, minutes_a_reading=2, cost_of_an_hour=Decimal(30), cost_of_a_wrong_verdict=Decimal(wrong)
        )
        for wrong in (80, 2)
    )
    assert dear.worth_it
    assert dear.sentence.startswith("Worth it: ")
    assert not cheap.worth_it
    assert cheap.best is not None
    assert cheap.sentence.startswith("Not worth it: 1 more reading by ")
    assert dear.costs == Decimal("1.00") * (dear.best.more if dear.best else 0)


def test_nothing_to_settle_is_worth_nothing() -> None:
    found = risk.worth_it(
        ahead(0, ReadingError(MM, 0)),
        minutes_a_reading=1,
        cost_of_an_hour=Decimal(30),
        cost_of_a_wrong_verdict=Decimal(60),
    )
    assert (found.best, found.worth_it) == (None, False)


@pytest.mark.parametrize(
    ("minutes", "hour", "wrong", "fault"),
    [
        (-1.0, "30", "60", "Minutes a reading is -1.0"),
        (1.0, "-30", "60", "Cost of an hour is -30"),
        (1.0, "30", "NaN", "Cost of a wrong verdict is NaN"),
    ],
)
def test_impossible_prices_are_refused(minutes: float, hour: str, wrong: str, fault: str) -> None:
    with pytest.raises(ImpossibleInput, match=fault):
        risk.worth_it(
            ahead(5 * MM, ReadingError(2 * MM, 0)),
            minutes_a_reading=minutes,
            cost_of_an_hour=Decimal(hour),
            cost_of_a_wrong_verdict=Decimal(wrong),
        )


@pytest.mark.parametrize("share", [0.0, 0.5, 2.0])
def test_looking_again_is_worked_out_as_a_simulated_bench_shows_it(share: float) -> None:
    """400,000 pieces just at a limit, read up to four times by one person until the mean is clear."""
    rng = np.random.default_rng(5)
    size = 400_000
    errors = share * rng.standard_normal((size, 1)) + rng.standard_normal((size, 4))
    means = errors.cumsum(axis=1) / np.arange(1, 5)
    reach = 2.0 * np.sqrt(1 / np.arange(1, 5) + share**2)
    clear = np.abs(means) > reach
    first = np.where(clear.any(axis=1), clear.argmax(axis=1), 3)
    out = (means > reach)[np.arange(size), first].mean()
    # Four standard errors of 0.06 over 400,000.
    assert abs(out - risk.risk_of_looking_again(2.0, looks=4, person_share=share)) < 0.0015


@given(st.floats(0.005, 0.2), st.integers(1, 5), st.floats(0, 2))
@settings(max_examples=15, deadline=None)
def test_the_multiplier_for_looks_keeps_the_risk(wanted: float, looks: int, share: float) -> None:
    found = risk.multiplier_for_looks(wanted, looks=looks, person_share=share)
    assert abs(risk.risk_of_looking_again(found, looks=looks, person_share=share) - wanted) < 1e-8


def test_impossible_looks_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Number of looks is 0"):
        risk.risk_of_looking_again(2.0, looks=0)
    with pytest.raises(ImpossibleInput, match=r"Multiplier or person share is 2\.0 and -1"):
        risk.risk_of_looking_again(2.0, looks=2, person_share=-1)
    with pytest.raises(ImpossibleInput, match=r"Risk is 0\.7"):
        risk.multiplier_for_looks(0.7, looks=2)


def test_a_claim_rule_looks_ahead_by_its_own_guard_band() -> None:
    error = ReadingError(2 * MM, 0)
    shelf = risk.outlook(9 * MM, SIX, error=error, readings=1, rule=DEFAULT_SHELF)
    claim = risk.outlook(9 * MM, SIX, error=error, readings=1, rule=replace(DEFAULT_CLAIM, max_repeats=6))
    assert (shelf.same_person, claim.same_person, claim.left) == (1, 1, 5)
    assert shelf.chances[0].settles > claim.chances[0].settles


def test_a_person_part_known_from_two_people_settles_nothing_by_itself() -> None:
    """One degree of freedom: the guard band of a 5 % rule is 6.3 person SDs, however many readings."""
    rule = conformity.Rule.by_risk("five", 1, "shelf", risk=Decimal("0.05"))
    known, two = (
        risk.outlook(3 * MM, SIX, error=ReadingError(MM, MM, person_dof=dof), readings=1, rule=rule)
        for dof in (None, 1)
    )
    assert known.verdict is Verdict.IN
    assert (two.verdict, two.same_person) == (Verdict.CLOSE, None)
