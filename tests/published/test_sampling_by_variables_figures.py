"""Sampling by variables and finite batches against published figures.

Each check names its source. MIL-STD-414 (1957) was not seen: its figures are from memory unless marked. What
"found" figures come from was read in the manuals of public statistics packages that quote them.
"""

import math
from decimal import Decimal

import pytest
from scipy.special import ndtri

from inventory.calc.sampling.remaining import Range, Sample, limits_of_bad
from inventory.calc.sampling.variables import (
    Risks,
    Spread,
    VariablesPlan,
    acceptance,
    judge,
    k_from_m,
    m_from_k,
    plan_by_risk,
    plan_of_letter,
    share_beyond,
)
from inventory.calc.sampling.variables.risk import k_range
from inventory.calc.sampling.variables.table import LETTER_SIZES
from tests.closeness import to_printed_digits

TEMPERATURES = [197, 188, 184, 205, 201]
"""MIL-STD-414 Examples B-1, B-3, B-4: operating temperatures in °F; a degree stands in for a nanometre."""

AQLS = ("0.65", "1.0", "1.5", "2.5", "4.0", "6.5", "10")

PRINTED_K = {
    3: "1.12 .958 .765 .566",
    4: "1.45 1.34 1.17 1.01 .814 .617",
    5: "1.65 1.53 1.40 1.24 1.07 .874 .675",
    7: "1.75 1.62 1.50 1.33 1.15 .955 .755",
    10: "1.84 1.72 1.58 1.41 1.23 1.03 .828",
    15: "1.91 1.79 1.65 1.47 1.30 1.09 .886",
    20: "1.96 1.82 1.69 1.51 1.33 1.12 .917",
    25: "1.98 1.85 1.72 1.53 1.35 1.14 .936",
    35: "2.03 1.89 1.76 1.57 1.39 1.18 .969",
    50: "2.08 1.93 1.80 1.61 1.42 1.21 1.00",
    75: "2.12 1.98 1.84 1.65 1.46 1.24 1.03",
    100: "2.14 2.00 1.86 1.67 1.48 1.26 1.05",
    150: "2.18 2.03 1.89 1.70 1.51 1.29 1.07",
    200: "2.18 2.04 1.89 1.70 1.51 1.29 1.07",
}
"""MIL-STD-414 Table B-1 (from memory), the 94 cells that the descendants of the standard kept."""


@pytest.mark.parametrize(
    ("n", "aql", "printed"),
    [
        (n, aql, figure)
        for n, row in PRINTED_K.items()
        for aql, figure in zip(AQLS[-len(row.split()) :], row.split(), strict=True)
    ],
)
def test_the_table_of_k_and_its_m(n: int, aql: str, printed: str) -> None:
    """MIL-STD-414 Table B-1 (from memory): k as printed, and from the M of Table B-3 to a last digit."""
    letter = next(letter for letter, size in LETTER_SIZES.items() if size == n)
    plan = plan_of_letter(letter, Decimal(aql))
    assert plan.n == n
    assert plan.k == float(printed)
    last_digit = Decimal(printed).as_tuple().exponent
    assert isinstance(last_digit, int)
    assert abs(k_from_m(plan.m, n=n) - float(printed)) < 10.0**last_digit


def test_the_operating_temperatures() -> None:
    """Example B-3: n = 5, AQL 1 %, U = 209: M = 3.32 %, s, Q, the estimate (2.19 % from Q as printed, 1.59).

    The standard prints s = 8.81; the readings give 8.803.
    """
    plan = plan_of_letter("D", Decimal("1.0"))
    assert (plan.n, plan.k, plan.m) == (5, 1.53, 0.0332)
    found = judge(TEMPERATURES, plan, lower_nm=None, upper_nm=209)
    assert found.mean_nm == 195.0
    assert found.spread_nm == math.sqrt(77.5)
    assert to_printed_digits(found.spread_nm, "8.80")
    assert abs(found.spread_nm - 8.81) < 0.01
    assert found.q_upper is not None
    assert to_printed_digits(found.q_upper, "1.59")
    assert to_printed_digits(100 * share_beyond(1.59, n=5), "2.19")
    assert found.verdict.value == "accepted"


def test_the_operating_temperatures_with_both_limits() -> None:
    """Example B-4: lower limit 180 besides, the two shares together 2.85 % from the Q as printed."""
    plan = plan_of_letter("D", Decimal("1.0"))
    found = judge(TEMPERATURES, plan, lower_nm=180, upper_nm=209)
    assert found.q_lower is not None
    assert to_printed_digits(found.q_lower, "1.70")
    assert to_printed_digits(100 * (share_beyond(1.59, n=5) + share_beyond(1.70, n=5)), "2.85")
    assert to_printed_digits(100 * share_beyond(1.70, n=5), "0.66")
    assert found.out <= plan.m


@pytest.mark.parametrize(
    ("share", "printed"),
    [
        (0.01, "0.9416725"),
        (0.04, "0.3326100"),
        (0.05, "0.2089206"),
        (0.07, "0.07779904"),
        (0.08, "0.04669480"),
        (0.09, "0.02783519"),
        (0.10, "0.01650732"),
        (0.12, "0.005737716"),
        (0.20, "0.00007426734"),
    ],
)
def test_the_operating_curve_of_letter_j(share: float, printed: str) -> None:
    """n = 35, k = 1.89, own spread: figures printed in the manual of an R package (found)."""
    plan = VariablesPlan(35, 1.89, m_from_k(1.89, n=35))
    assert to_printed_digits(acceptance(plan, share), printed)


def test_the_poor_quality_of_letter_j() -> None:
    """ISO 3951 Table V-J-1 as quoted there (found): 10.95 % out passes once in a hundred, for AQL 1 %."""
    plan = VariablesPlan(35, 1.89, m_from_k(1.89, n=35))
    assert acceptance(plan, 0.10945) > 0.01 > acceptance(plan, 0.10955)


RISKS = Risks(p1=0.05, alpha=0.05, p2=0.15, beta=0.075)


def test_a_plan_by_risk_with_a_known_spread() -> None:
    """The same manual (found): 5 % out to pass 95 times in 100, 15 % out 7.5 times: 26 readings."""
    assert plan_by_risk(RISKS, spread=Spread.KNOWN).n == 26


def test_a_plan_by_risk_with_the_samples_own_spread() -> None:
    """The same (found): 49 readings, k = 1.326562. Exactly, k is 1.32496 to 1.32653; theirs just misses."""
    plan = plan_by_risk(RISKS)
    assert plan.n == 49
    least, most = k_range(49, RISKS)
    assert to_printed_digits(least, "1.32496")
    assert to_printed_digits(most, "1.32653")
    assert least < plan.k < most < 1.326562
    theirs = VariablesPlan(49, 1.326562, m_from_k(1.326562, n=49))
    assert to_printed_digits(acceptance(theirs, 0.05), "0.949984")


def test_the_textbook_nomograph() -> None:
    """Montgomery, Statistical Quality Control (from memory): p1 .01, p2 .06, risks .05 and .10: k 1.9, n 40.

    That is the approximation (1 + k²/2)·((z_α + z_β)/(z_1 − z_2))²; exactly it takes 42.
    """
    plan = plan_by_risk(Risks(p1=0.01, alpha=0.05, p2=0.06, beta=0.10))
    assert to_printed_digits(plan.k, "1.9")
    z_alpha, z_beta, z_1, z_2 = (-float(ndtri(share)) for share in (0.05, 0.10, 0.01, 0.06))
    assert to_printed_digits((1 + 1.9**2 / 2) * ((z_alpha + z_beta) / (z_1 - z_2)) ** 2, "40")
    assert plan.n == 42


def test_estimated_share_and_greatest_share() -> None:
    """Examples of an R package beside Lawson, Acceptance Sampling and SPC with R (found)."""
    assert to_printed_digits(share_beyond((255 - 225) / 15, n=42), "0.0206956260")
    assert to_printed_digits(m_from_k(1.6094, n=10, spread=Spread.KNOWN), "0.0448997255")
    assert to_printed_digits(m_from_k(1.905285, n=42), "0.0263045512")


@pytest.mark.parametrize(
    ("batch", "inspected", "bad", "limits"),
    [(500, 50, 0, (0, 33)), (50, 13, 0, (0, 10)), (50, 13, 1, (1, 16))],
)
def test_limits_for_a_finite_batch(batch: int, inspected: int, bad: int, limits: tuple[int, int]) -> None:
    """Derived, nothing printed: test inversion (Konijn 1973, Buonaccorsi 1987), by R phyper and scipy."""
    assert limits_of_bad(Sample(batch, inspected, bad)).in_batch == Range(*limits)
