"""Conformity decisions against published figures.

Each check names its source; the clause texts of JCGM 106:2012, ISO 14253-1:2017 and ILAC-G8:09/2019 were
not seen, so the figures are from memory unless marked. Other quantities than lengths stand in for
lengths: a millionth of their unit is counted as one nanometre.
"""

from decimal import Decimal
from statistics import NormalDist

import numpy as np
import pytest

from inventory.calc.conformity import (
    DEFAULT_CLAIM,
    DEFAULT_SHELF,
    IN_CODE,
    Limits,
    Rule,
    decide_many,
    guard_nm,
    probability_in,
)
from inventory.calc.risk import MakerSpread, overall_risk
from tests.closeness import to_printed_digits

MILLION = 1_000_000
FAR = 1_000 * MILLION
"""So far away that a limit there plays no part: one-sided cases."""


def one_sided(upper: int) -> Limits:
    return Limits(upper - FAR, upper)


def test_the_zener_diode() -> None:
    """JCGM 106 7.3: y = −5.47 V, u = 0.05 V, upper limit −5.40 V, conformance probability 0.92."""
    found = probability_in(-5_470_000, one_sided(-5_400_000), u_nm=50_000.0)
    assert to_printed_digits(found, "0.92")


def test_the_motor_oil() -> None:
    """JCGM 106 7.4: 13.6 mm²/s, u = 1.8, between 12.5 and 16.3, conformance probability 0.66."""
    found = probability_in(13_600_000, Limits(12_500_000, 16_300_000), u_nm=1_800_000.0)
    assert to_printed_digits(found, "0.66")


@pytest.mark.parametrize(("z", "printed"), [(1.28, "0.90"), (3.09, "0.999")])
def test_distance_from_one_limit_for_a_conformance_probability(z: float, printed: str) -> None:
    """JCGM 106 Table 1."""
    found = probability_in(-round(z * MILLION), one_sided(0), u_nm=float(MILLION))
    assert to_printed_digits(found, printed)


def test_guarded_acceptance_at_twice_the_uncertainty() -> None:
    """JCGM 106 8.3.2: with w = U = 2u a value at the acceptance limit conforms with probability 0.977."""
    guard = guard_nm(float(MILLION), DEFAULT_CLAIM)
    found = probability_in(-guard, one_sided(0), u_nm=float(MILLION))
    assert to_printed_digits(found, "0.977")


def test_the_default_guard_band_is_the_one_sided_five_percent_point() -> None:
    """ISO 14253-1:2017 default, as stated in ILAC-G8:09/2019 Table 1: 1.645·u."""
    assert DEFAULT_SHELF.multiplier == Decimal("1.645")
    assert to_printed_digits(NormalDist().inv_cdf(0.95), "1.645")
    assert guard_nm(1_000.0, DEFAULT_SHELF) == 1_645


@pytest.mark.parametrize(
    ("multiplier", "bound"), [("6", 1e-6), ("3", 0.0016), ("2", 0.025), ("1.645", 0.05), ("0", 0.5)]
)
def test_bounds_on_wrongly_accepting_at_one_limit(multiplier: str, bound: float) -> None:
    """ILAC-G8:09/2019 Table 1, U = 2u: w = 3U < 1 ppm, 1.5U < 0.16 %, U < 2.5 %, 0.83U < 5 %, 0 < 50 %."""
    rule = Rule(code="table", version=1, purpose="shelf", multiplier=Decimal(multiplier))
    u = 2.0 * MILLION
    acceptance_limit = -guard_nm(u, rule)
    assert 1 - probability_in(acceptance_limit, one_sided(0), u_nm=u) <= bound


def _resistor_risks(guard: int) -> tuple[float, float]:
    """Global risks of the buyer and the maker: 1500 Ω made with SD 0.12 Ω, ±0.2 Ω, measured with u 0.04 Ω.

    By integration over what is made; what is called in comes from the verdicts of a fine grid of readings.
    """
    made_sd, u, tolerance = 120_000.0, 40_000.0, 200_000
    readings = np.arange(-500_000, 500_001, 100, dtype=np.int64)
    called_in = readings[decide_many(readings, -tolerance, tolerance, guard) == IN_CODE]
    acceptance = Limits(int(called_in.min()), int(called_in.max()))
    true = np.arange(-900_000, 900_000, 200) + 100
    share = np.exp(-((true / made_sd) ** 2) / 2)
    share /= share.sum()
    accepted = np.array([probability_in(int(value), acceptance, u_nm=u) for value in true])
    good = np.abs(true) <= tolerance
    return float((share * accepted)[~good].sum()), float((share * (1 - accepted))[good].sum())


def test_the_precision_resistors() -> None:
    """JCGM 106 9.5.3: accepted within ±0.18 Ω the buyer's risk is 1 %, the maker's 7 %.

    Inputs found in a public program, the two percentages from memory.
    """
    half_u = Rule(code="half", version=1, purpose="shelf", multiplier=Decimal("0.5"))
    guard = guard_nm(40_000.0, half_u)
    assert guard == 20_000
    buyer, maker = _resistor_risks(guard)
    assert to_printed_digits(buyer, "0.01")
    assert to_printed_digits(maker, "0.07")


def test_the_precision_resistors_without_a_guard_band() -> None:
    """Computed by us from the inputs of JCGM 106 9.5.3, nothing printed: the maker's risk is 3.72 %."""
    _, maker = _resistor_risks(0)
    assert to_printed_digits(maker, "0.0372")


RESISTORS = MakerSpread(1_500_000_000, 120_000)
RESISTOR_LIMITS = Limits(1_499_800_000, 1_500_200_000)


@pytest.mark.parametrize(
    ("guard", "buyer", "maker"),
    [(20_000, "0.0098783", "0.069027"), (0, None, "0.037208")],
    ids=[
        "JCGM 106 9.5.3: 1 % and 7 %, from memory; more digits ours",
        "no guard band: ours, nothing printed",
    ],
)
def test_the_precision_resistors_by_the_formula_in_use(guard: int, buyer: str | None, maker: str) -> None:
    found = overall_risk(RESISTOR_LIMITS, u_nm=40_000.0, maker=RESISTORS, guard_nm=guard)
    assert buyer is None or to_printed_digits(found.consumer_risk, buyer)
    assert to_printed_digits(found.producer_risk, maker)


def test_the_default_guard_band_in_expanded_uncertainties() -> None:
    """ILAC-G8:09/2019 Table 1, from memory: 0.83 U. 1.645 / 2 is 0.8225, so it was rounded up there."""
    five = Rule.by_risk("five", 1, "shelf", risk=Decimal("0.05"))
    in_expanded = five.multiplier / 2
    assert in_expanded < Decimal("0.83") < in_expanded + Decimal("0.01")


def test_bound_on_wrongly_refusing_under_the_uncritical_rule() -> None:
    """ILAC-G8:09/2019 Table 1, from memory: accepting up to U past the limit, at the edge of acceptance less
    than 2.5 % are refused that are in."""
    expanded = Rule("expanded", 1, "shelf", Decimal(2), kind="expanded")
    u = 2.0 * MILLION
    assert probability_in(guard_nm(u, expanded), one_sided(0), u_nm=u) < 0.025
    assert to_printed_digits(expanded.risk_at_the_limit, "0.02275")
