"""What a sample says of the rest: exact limits and chances, by enumeration with fractions beside them."""

import math
import time
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise, product
from math import comb

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import integrate, stats

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.remaining import (
    NEVER_WRONG,
    Range,
    ReadingRates,
    Sample,
    Sides,
    chance_within,
    limits_of_bad,
    most_allowed,
    say_chance,
    say_left,
    say_limits,
)
from inventory.calc.sampling.remaining.called import called_given_bad, truly_bad

FREE_OF_ROUNDING = 1e-9
"""Logarithms of factorials of a few thousand leave nine digits at least."""


def share_drawn(batch: int, bad: int, inspected: int, seen: int) -> Fraction:
    """Hypergeometric chance as an exact fraction."""
    if seen > bad or inspected - seen > batch - bad:
        return Fraction(0)
    return Fraction(comb(bad, seen) * comb(batch - bad, inspected - seen), comb(batch, inspected))


def hits(trials: int, number: int, share: Fraction) -> Fraction:
    return comb(trials, number) * share**number * (1 - share) ** (trials - number)


def share_called(inspected: int, truly: int, called: int, rates: tuple[Fraction, Fraction]) -> Fraction:
    """Chance that ``called`` are called bad when ``truly`` of the inspected are, as an exact fraction."""
    false_bad, false_good = rates
    return sum(
        (
            hits(truly, caught, 1 - false_good) * hits(inspected - truly, called - caught, false_bad)
            for caught in range(max(0, called - inspected + truly), min(truly, called) + 1)
        ),
        Fraction(0),
    )


def limits_by_listing(sample: Sample, allowed: Fraction, rates: tuple[Fraction, Fraction]) -> list[int]:
    """Every number of bad pieces that neither tail contradicts."""
    kept = []
    for bad in range(sample.batch_size + 1):
        chances = [Fraction(0)] * (sample.inspected + 1)
        for truly in range(sample.inspected + 1):
            drawn = share_drawn(sample.batch_size, bad, sample.inspected, truly)
            if drawn:
                for called in range(sample.inspected + 1):
                    chances[called] += drawn * share_called(sample.inspected, truly, called, rates)
        if sum(chances[sample.bad :]) > allowed and sum(chances[: sample.bad + 1]) > allowed:
            kept.append(bad)
    return kept


@st.composite
def samples(draw: st.DrawFn, most: int = 60) -> Sample:
    batch = draw(st.integers(1, most))
    inspected = draw(st.integers(0, batch))
    return Sample(batch, inspected, draw(st.integers(0, inspected)))


@st.composite
def samples_read_with_error(draw: st.DrawFn, most: int = 40) -> Sample:
    plain = draw(samples(most=most))
    rates = ReadingRates(draw(st.integers(0, 30)) / 100, draw(st.integers(0, 30)) / 100)
    return Sample(plain.batch_size, plain.inspected, plain.bad, rates)


@given(samples(most=14), st.sampled_from([(0.90, Fraction(1, 10)), (0.95, Fraction(1, 20))]))
def test_limits_are_the_numbers_that_exact_fractions_do_not_contradict(
    sample: Sample, confidence: tuple[float, Fraction]
) -> None:
    stated, doubt = confidence
    found = limits_of_bad(sample, confidence=stated).in_batch
    never = (Fraction(0), Fraction(0))
    kept = limits_by_listing(sample, doubt / 2, never)
    assert list(range(found.least, found.most + 1)) == kept
    one_sided = limits_by_listing(sample, doubt, never)
    assert limits_of_bad(sample, confidence=stated, sides=Sides.AT_LEAST).in_batch.least == one_sided[0]
    assert limits_of_bad(sample, confidence=stated, sides=Sides.AT_MOST).in_batch.most == one_sided[-1]


@pytest.mark.parametrize(("bad", "false_bad", "false_good"), [(0, 5, 10), (2, 5, 10), (3, 20, 0), (4, 0, 20)])
def test_limits_with_wrong_calls_are_those_of_the_mixture_in_fractions(
    bad: int, false_bad: int, false_good: int
) -> None:
    sample = Sample(18, 7, bad, ReadingRates(false_bad / 100, false_good / 100))
    rates = (Fraction(false_bad, 100), Fraction(false_good, 100))
    kept = limits_by_listing(sample, Fraction(1, 40), rates)
    assert limits_of_bad(sample).in_batch == Range(kept[0], kept[-1])


def test_a_chance_exactly_equal_to_the_doubt_counts_as_contradicted() -> None:
    """One piece drawn of 20 and bad: were 1 of the 20 bad, that has a chance of exactly 5 %."""
    assert limits_of_bad(Sample(20, 1, 1), sides=Sides.AT_LEAST).in_batch.least == 2
    assert limits_of_bad(Sample(20, 1, 0), sides=Sides.AT_MOST).in_batch.most == 18


@given(samples(most=3000))
def test_limits_agree_with_the_distribution_of_scipy(sample: Sample) -> None:
    found = limits_of_bad(sample, confidence=0.93).in_batch
    batch, drawn, allowed = sample.batch_size, sample.inspected, 0.035

    def at_least(bad: int) -> float:
        return float(stats.hypergeom.sf(sample.bad - 1, batch, bad, drawn))

    def at_most(bad: int) -> float:
        return float(stats.hypergeom.cdf(sample.bad, batch, bad, drawn))

    assert at_least(found.least) > allowed
    assert at_most(found.most) > allowed
    assert found.least == 0 or at_least(found.least - 1) <= allowed
    assert found.most == batch or at_most(found.most + 1) <= allowed


@pytest.mark.parametrize("sides", list(Sides))
@pytest.mark.parametrize(
    "rates", [NEVER_WRONG, ReadingRates(0.05, 0.0), ReadingRates(0.0, 0.2), ReadingRates(0.1, 0.15)]
)
@pytest.mark.parametrize(("batch", "inspected"), [(30, 10), (24, 20), (12, 3)])
def test_limits_hold_at_least_as_often_as_stated_whatever_is_true(
    batch: int, inspected: int, rates: ReadingRates, sides: Sides
) -> None:
    """Every number called, weighed by its exact chance, for every number of bad pieces: 90 % or more."""
    samples_seen = [Sample(batch, inspected, called, rates) for called in range(inspected + 1)]
    stated = [limits_of_bad(sample, confidence=0.9, sides=sides) for sample in samples_seen]
    given_truly_bad = [called_given_bad(sample).exactly for sample in samples_seen]
    for bad in range(batch + 1):
        drawn = truly_bad(batch, bad, inspected)
        left = bad - np.arange(inspected + 1)
        of_batch = of_left = 0.0
        for limits, called in zip(stated, given_truly_bad, strict=True):
            chances = drawn * called
            of_batch += float(chances.sum()) * (limits.in_batch.least <= bad <= limits.in_batch.most)
            inside = (left >= limits.among_left.least) & (left <= limits.among_left.most)
            of_left += float(chances[inside].sum())
        assert of_batch >= 0.9 - FREE_OF_ROUNDING
        assert of_left >= 0.9 - FREE_OF_ROUNDING


@given(samples_read_with_error(), st.sampled_from(list(Sides)))
def test_limits_are_possible_numbers_in_order(sample: Sample, sides: Sides) -> None:
    found = limits_of_bad(sample, sides=sides)
    assert 0 <= found.in_batch.least <= sample.batch_size
    assert 0 <= found.in_batch.most <= sample.batch_size
    assert 0 <= found.among_left.least <= found.among_left.most <= sample.left
    if found.rates_fit:
        assert found.in_batch.least <= found.in_batch.most


@given(samples_read_with_error())
def test_more_confidence_never_narrows_the_limits(sample: Sample) -> None:
    assume(limits_of_bad(sample, confidence=0.8).rates_fit)
    narrow = limits_of_bad(sample, confidence=0.8).in_batch
    wide = limits_of_bad(sample, confidence=0.99).in_batch
    assert wide.least <= narrow.least <= narrow.most <= wide.most


@given(samples(most=40), st.integers(1, 40))
def test_more_good_pieces_called_bad_never_raise_the_least_number(sample: Sample, percent: int) -> None:
    """Reading error can only weaken a claim."""
    read = Sample(sample.batch_size, sample.inspected, sample.bad, ReadingRates(false_bad=percent / 100))
    plain = limits_of_bad(sample, sides=Sides.AT_LEAST).in_batch.least
    assert limits_of_bad(read, sides=Sides.AT_LEAST).in_batch.least <= plain


@given(samples(most=40))
def test_good_and_bad_change_places(sample: Sample) -> None:
    mirrored = Sample(sample.batch_size, sample.inspected, sample.inspected - sample.bad)
    found, other = limits_of_bad(sample).in_batch, limits_of_bad(mirrored).in_batch
    assert other == Range(sample.batch_size - found.most, sample.batch_size - found.least)


@given(samples(most=40))
def test_a_batch_measured_whole_leaves_nothing_unknown(sample: Sample) -> None:
    whole = Sample(sample.inspected or 1, sample.inspected or 1, sample.bad)
    assert limits_of_bad(whole).in_batch == Range(whole.bad, whole.bad)
    assert limits_of_bad(whole).among_left == Range(0, 0)


def test_nothing_inspected_says_nothing() -> None:
    found = limits_of_bad(Sample(10, 0, 0))
    assert found.in_batch == Range(0, 10)
    assert found.among_left == Range(0, 10)
    assert chance_within(Sample(10, 0, 0), most_bad=4).chance == pytest.approx(5 / 11, rel=FREE_OF_ROUNDING)


def test_rates_that_cannot_explain_the_sample_are_said() -> None:
    """None of 100 called bad, though a tenth of good pieces are said to be called bad."""
    found = limits_of_bad(Sample(200, 100, 0, ReadingRates(false_bad=0.1)))
    assert not found.rates_fit
    assert "need another look" in say_limits(found)
    assert limits_of_bad(Sample(200, 100, 10, ReadingRates(false_bad=0.1))).rates_fit


def chances_by_bayes(sample: Sample, rates: tuple[Fraction, Fraction]) -> Iterator[Fraction]:
    """Chance of each number of bad pieces, every number equally likely beforehand, by the whole sum."""
    weights = [
        sum(
            (
                share_drawn(sample.batch_size, bad, sample.inspected, truly)
                * share_called(sample.inspected, truly, sample.bad, rates)
                for truly in range(sample.inspected + 1)
            ),
            Fraction(0),
        )
        for bad in range(sample.batch_size + 1)
    ]
    total = sum(weights)
    return (weight / total for weight in weights)


@pytest.mark.parametrize(("false_bad", "false_good"), [(0, 0), (5, 10), (25, 0), (0, 25)])
@pytest.mark.parametrize(("batch", "inspected", "bad"), [(20, 6, 0), (20, 6, 2), (9, 9, 4), (15, 14, 1)])
def test_chances_are_those_of_bayes_in_fractions(
    batch: int, inspected: int, bad: int, false_bad: int, false_good: int
) -> None:
    sample = Sample(batch, inspected, bad, ReadingRates(false_bad / 100, false_good / 100))
    so_far = Fraction(0)
    rates = (Fraction(false_bad, 100), Fraction(false_good, 100))
    for most_bad, share in enumerate(chances_by_bayes(sample, rates)):
        so_far += share
        found = chance_within(sample, most_bad=most_bad).chance
        assert found == pytest.approx(float(so_far), rel=FREE_OF_ROUNDING, abs=FREE_OF_ROUNDING)


@given(samples(most=400), st.integers(0, 400))
def test_without_wrong_calls_what_is_left_is_beta_binomial(sample: Sample, most_bad: int) -> None:
    assume(sample.bad <= most_bad <= sample.batch_size and sample.left)
    good = sample.inspected - sample.bad
    expected = stats.betabinom.cdf(most_bad - sample.bad, sample.left, sample.bad + 1, good + 1)
    found = chance_within(sample, most_bad=most_bad).chance
    assert found == pytest.approx(float(expected), rel=1e-7, abs=1e-9)


@given(samples_read_with_error())
def test_the_chance_grows_with_the_number_allowed_and_ends_at_certainty(sample: Sample) -> None:
    chances = [chance_within(sample, most_bad=most).chance for most in range(sample.batch_size + 1)]
    assert all(later >= earlier - FREE_OF_ROUNDING for earlier, later in pairwise(chances))
    assert chances[-1] == pytest.approx(1.0, rel=FREE_OF_ROUNDING)


def test_simulated_batches_bear_the_chance_out() -> None:
    """Batches with any number of bad pieces, read with error; how many of those alike are within."""
    chance_of = np.random.default_rng(20261125)
    batch, inspected, most_bad, rates = 40, 12, 6, ReadingRates(0.05, 0.1)
    bad = chance_of.integers(0, batch + 1, size=200_000)
    truly = chance_of.hypergeometric(bad, batch - bad, inspected)
    called = chance_of.binomial(truly, 0.9) + chance_of.binomial(inspected - truly, 0.05)
    alike = bad[called == 1]
    expected = chance_within(Sample(batch, inspected, 1, rates), most_bad=most_bad).chance
    spread = (expected * (1 - expected) / alike.size) ** 0.5
    assert abs(float((alike <= most_bad).mean()) - expected) < 4 * spread


@pytest.mark.parametrize("shared", [0.2, 0.5, 0.9])
def test_an_error_in_common_makes_wrong_calls_come_in_heaps(shared: float) -> None:
    """Another road: the bell curve of the error in common by adaptive quadrature, twenty good pieces."""
    z = stats.norm.ppf(0.025)

    def chance(called: int) -> float:
        def given(h: float) -> float:
            rate = stats.norm.cdf((math.sqrt(shared) * h + z) / math.sqrt(1 - shared))
            return float(stats.norm.pdf(h) * stats.binom.sf(called - 1, 20, rate))

        return float(integrate.quad(given, -8, 8, points=[0.0, 2.0], limit=200)[0])

    for called in (1, 2, 5, 15):
        sample = Sample(40, 20, called, ReadingRates(0.025, 0.0, shared=shared))
        assert abs(float(called_given_bad(sample).at_least[0]) - chance(called)) < 1e-6
    apart = called_given_bad(Sample(40, 20, 5, ReadingRates(0.025))).at_least[0]
    together = called_given_bad(Sample(40, 20, 5, ReadingRates(0.025, shared=shared))).at_least[0]
    assert together > 10 * apart


@pytest.mark.parametrize(("batch", "inspected"), [(80, 13), (200, 80)])
def test_a_claim_holds_for_readings_by_the_same_hands(batch: int, inspected: int) -> None:
    """Every piece just at its limit, none out, half of the error a habit: at most 1 claim in 20 names any."""
    rng = np.random.default_rng(batch)
    habit = rng.normal(0, 1, (20_000, 1))
    readings = habit + rng.normal(0, 1, (20_000, inspected))
    called = (readings > 2 * math.sqrt(2)).sum(axis=1)
    rate = float(stats.norm.sf(2))

    def claimed(shared: float) -> float:
        rates = ReadingRates(false_bad=rate, shared=shared)
        least = np.array(
            [
                limits_of_bad(Sample(batch, inspected, bad, rates), sides=Sides.AT_LEAST).in_batch.least
                for bad in range(inspected + 1)
            ]
        )
        return float((least[called] > 0).mean())

    # 20,000 batches: 5 % has a standard error of 0.15 %.
    assert claimed(0.5) < 0.05 + 0.0045
    assert claimed(0.0) > 0.06


def test_small_strata_full_of_bad_pieces_do_not_make_a_spread_draw_claim_too_much() -> None:
    """One of each of nine pairs and 4 of 62: were just the pairs bad, 9 of 13 would be, of 18 in 80."""
    even = limits_of_bad(Sample(80, 13, 9), sides=Sides.AT_LEAST)
    assert even.in_batch.least >= 2 * 18
    spread = limits_of_bad(Sample(80, 13, 9, chances=(4 / 62, 0.5)), sides=Sides.AT_LEAST)
    assert 9 <= spread.in_batch.least <= 18
    good = limits_of_bad(Sample(80, 13, 0, chances=(4 / 62, 0.5)), sides=Sides.AT_MOST)
    assert good.in_batch.most > limits_of_bad(Sample(80, 13, 0), sides=Sides.AT_MOST).in_batch.most


@pytest.mark.parametrize("strata", [((2, 1), (2, 1), (20, 2)), ((3, 1), (12, 3), (6, 2)), ((1, 1), (24, 4))])
@pytest.mark.parametrize("confidence", [0.8, 0.95])
@pytest.mark.parametrize("sides", [Sides.AT_LEAST, Sides.AT_MOST])
def test_limits_of_a_spread_draw_hold_wherever_the_bad_pieces_are(
    strata: tuple[tuple[int, int], ...], confidence: float, sides: Sides
) -> None:
    """Every way the bad pieces may lie in the strata (size, drawn), by enumeration."""
    batch, inspected = (sum(column) for column in zip(*strata, strict=True))
    shares = [drawn / size for size, drawn in strata]
    limits = [
        limits_of_bad(
            Sample(batch, inspected, seen, chances=(min(shares), max(shares))),
            confidence=confidence,
            sides=sides,
        ).in_batch
        for seen in range(inspected + 1)
    ]
    for lying in product(*(range(size + 1) for size, _ in strata)):
        chances = np.ones(1)
        for bad, (size, drawn) in zip(lying, strata, strict=True):
            chances = np.convolve(chances, truly_bad(size, bad, drawn))
        holds = [of.least <= sum(lying) <= of.most for of in limits]
        assert float(chances @ np.array(holds)) >= confidence - FREE_OF_ROUNDING


def test_five_thousand_pieces_are_reckoned_at_once() -> None:
    sample = Sample(5000, 500, 30, ReadingRates(0.02, 0.05))
    began = time.perf_counter()
    limits_of_bad(sample)
    chance_within(sample, most_bad=100)
    assert time.perf_counter() - began < 1.0


def test_the_agreed_share_is_rounded_down_to_whole_pieces() -> None:
    assert most_allowed(80, Decimal("0.025")) == 2
    assert most_allowed(79, Decimal("0.025")) == 1
    assert most_allowed(50, Decimal("0.02")) == 1
    assert most_allowed(39, Decimal("0.025")) == 0


def test_the_sentence_of_a_claim() -> None:
    found = limits_of_bad(Sample(80, 13, 3, ReadingRates(false_bad=0.025)), sides=Sides.AT_LEAST)
    assert say_limits(found, beyond_doubt=True) == (
        "Of 80 pieces 13 were measured and 3 are out beyond doubt; at 95 % confidence at least 4 of the 80 "
        "are out. Allowed for: 2.5 % of good pieces called out, 0 % of bad pieces missed."
    )


@pytest.mark.parametrize(
    ("sample", "sides", "sentence"),
    [
        (
            Sample(500, 50, 0),
            Sides.BOTH,
            (
                "Of 500 pieces 50 were measured and none is out; "
                "at 95 % confidence between 0 and 33 of the 500 are out."
            ),
        ),
        (
            Sample(20, 1, 0),
            Sides.AT_MOST,
            "Of 20 pieces 1 was measured and none is out; at 95 % confidence at most 18 of the 20 are out.",
        ),
        (
            Sample(1, 0, 0),
            Sides.BOTH,
            (
                "Of 1 piece none was measured and none is out; "
                "at 95 % confidence between 0 and 1 of the 1 are out."
            ),
        ),
        (
            Sample(80, 13, 0),
            Sides.AT_LEAST,
            "Of 80 pieces 13 were measured and none is out; at 95 % confidence none of the 80 has to be out.",
        ),
        (Sample(5, 5, 1), Sides.BOTH, "Of 5 pieces 5 were measured and 1 is out; none is left."),
    ],
)
def test_sentences_in_plain_words(sample: Sample, sides: Sides, sentence: str) -> None:
    assert say_limits(limits_of_bad(sample, sides=sides)) == sentence


def test_none_beyond_doubt_is_not_none_at_all() -> None:
    sentence = say_limits(limits_of_bad(Sample(80, 13, 0), sides=Sides.AT_LEAST), beyond_doubt=True)
    assert sentence.startswith("Of 80 pieces 13 were measured and none is out beyond doubt; ")


@pytest.mark.parametrize(
    ("sides", "sentence"),
    [
        (Sides.AT_LEAST, "Of the 67 pieces not measured at least 3 are out, at 95 % confidence."),
        (Sides.AT_MOST, "Of the 67 pieces not measured at most 35 are out, at 95 % confidence."),
    ],
)
def test_the_pieces_left_are_spoken_of_too(sides: Sides, sentence: str) -> None:
    limits = limits_of_bad(Sample(80, 13, 3), sides=sides)
    assert say_left(limits) == sentence


def test_of_no_pieces_left_nothing_is_said_to_be_out() -> None:
    assert say_left(limits_of_bad(Sample(5, 5, 1))) == "Every piece was measured; none is left."


def test_a_chance_is_said_with_the_belief_it_starts_from() -> None:
    said = say_chance(chance_within(Sample(80, 40, 0), most_bad=0))
    assert said.startswith("The chance that none of the 80 pieces is out is 50.6 %")
    assert "equally likely beforehand" in said


@pytest.mark.parametrize(
    ("make", "thing"),
    [
        (lambda: Sample(0, 0, 0), "batch size"),
        (lambda: Sample(80, 81, 0), "number of pieces inspected"),
        (lambda: Sample(80, 13, 14), "number of bad pieces"),
        (lambda: Sample(80, 13, -1), "number of bad pieces"),
        (lambda: Sample(80, 13, 3, chances=(0.5, 0.2)), "chances of a piece to be drawn"),
        (lambda: ReadingRates(1.2, 0.0), "chance that a good piece is called bad"),
        (lambda: ReadingRates(0.0, float("nan")), "chance that a bad piece is called good"),
        (lambda: ReadingRates(0.5, 0.5), "sum of the two chances of a wrong call"),
        (lambda: ReadingRates(0.02, shared=1.5), "share of the error that all pieces have in common"),
        (lambda: limits_of_bad(Sample(80, 13, 3), confidence=95), "confidence"),
        (lambda: chance_within(Sample(80, 13, 3), most_bad=81), "agreed number of bad pieces"),
        (lambda: most_allowed(80, Decimal(2)), "agreed share of bad pieces"),
    ],
)
def test_impossible_input_is_named(make: object, thing: str) -> None:
    assert callable(make)
    with pytest.raises(ImpossibleInput) as refused:
        make()
    assert refused.value.thing == thing
