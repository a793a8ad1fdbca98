"""Units, inch fractions and rounding against published figures.

Each check names its source in its id. "From memory" means that the figure was recalled by us, not read
in the source while this was written; the arithmetic agrees with every printed digit. "Found" means that
the figure was read in a public text.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from inventory.calc import conformity, length
from inventory.calc.length import Rounding, Unit
from tests.closeness import to_printed_digits

AGREEMENT = "1959 yard and pound agreement; NIST SP 811 App. B.8, from memory"
TABLE = "inch fraction tables of engineering handbooks, from memory"
SP811 = "NIST SP 811 (2008) App. B.7.1, found"
ISO_80000 = "ISO 80000-1:2009 Annex B, from memory"
E29 = "ASTM E29 Table 1, from memory"

EXACT_LENGTHS = [
    ("1 in", "25.4", AGREEMENT),
    ("1 ft", "304.8", AGREEMENT),
    ("3 ft", "914.4", f"1 yard: {AGREEMENT}"),
    ("12 in", "304.8", AGREEMENT),
    ("1/64 in", "0.396875", TABLE),
    ("1/32 in", "0.79375", TABLE),
    ("1/16 in", "1.5875", TABLE),
    ("1/8 in", "3.175", TABLE),
    ("3/16 in", "4.7625", TABLE),
    ("1/4 in", "6.35", TABLE),
    ("5/16 in", "7.9375", TABLE),
    ("3/8 in", "9.525", TABLE),
    ("7/16 in", "11.1125", TABLE),
    ("1/2 in", "12.7", TABLE),
    ("9/16 in", "14.2875", TABLE),
    ("5/8 in", "15.875", TABLE),
    ("11/16 in", "17.4625", TABLE),
    ("3/4 in", "19.05", TABLE),
    ("13/16 in", "20.6375", TABLE),
    ("7/8 in", "22.225", TABLE),
    ("15/16 in", "23.8125", TABLE),
    ("63/64 in", "25.003125", TABLE),
]


@pytest.mark.parametrize(
    ("typed", "mm", "source"), EXACT_LENGTHS, ids=[f"{typed}: {source}" for typed, _, source in EXACT_LENGTHS]
)
def test_inches_are_the_published_millimetres_exactly(typed: str, mm: str, source: str) -> None:
    nm = length.parse(typed, unit=Unit.MM).nm
    assert length.to_mm(nm) == Decimal(mm)
    assert length.from_mm(mm) == nm
    assert length.show_exact(nm, unit=Unit.MM) == f"{mm} mm"


def test_our_foot_is_the_international_one_two_millionths_shorter_than_the_survey_foot() -> None:
    """US survey foot 1200/3937 m = 3.048006E-01 m, 2 ppm longer: NIST SP 811 App. B.6, from memory."""
    survey_m = Fraction(1200, 3937)
    ours_m = Fraction(length.parse("1 ft", unit=Unit.MM).nm, 10**9)
    assert to_printed_digits(survey_m, "3.048006E-1")
    assert to_printed_digits((survey_m / ours_m - 1) * 10**6, "2")


# Each figure scaled by a power of ten to a whole number, since the rule works on whole numbers.
ROUNDED = [
    ("6.9749515", "6.97", "0.01", Rounding.HALF_EVEN, f"3 digits: {SP811}"),
    ("6.9749515", "6.9750", "0.0001", Rounding.HALF_EVEN, f"5 digits: {SP811}"),
    ("6.9749515", "6.974952", "0.000001", Rounding.HALF_EVEN, f"7 digits: {SP811}"),
    ("6.9749505", "6.974950", "0.000001", Rounding.HALF_EVEN, f"7 digits: {SP811}"),
    ("12.223", "12.2", "0.1", Rounding.HALF_EVEN, ISO_80000),
    ("12.251", "12.3", "0.1", Rounding.HALF_EVEN, ISO_80000),
    ("12.275", "12.3", "0.1", Rounding.HALF_EVEN, ISO_80000),
    ("1223.3", "1220", "10", Rounding.HALF_EVEN, ISO_80000),
    ("1225.1", "1230", "10", Rounding.HALF_EVEN, ISO_80000),
    ("1227.5", "1230", "10", Rounding.HALF_EVEN, ISO_80000),
    ("12.25", "12.2", "0.1", Rounding.HALF_EVEN, f"rule A: {ISO_80000}"),
    ("12.35", "12.4", "0.1", Rounding.HALF_EVEN, f"rule A: {ISO_80000}"),
    ("1225.0", "1220", "10", Rounding.HALF_EVEN, f"rule A: {ISO_80000}"),
    ("1235.0", "1240", "10", Rounding.HALF_EVEN, f"rule A: {ISO_80000}"),
    ("12.25", "12.3", "0.1", Rounding.HALF_AWAY, f"rule B: {ISO_80000}"),
    ("12.35", "12.4", "0.1", Rounding.HALF_AWAY, f"rule B: {ISO_80000}"),
    ("1225.0", "1230", "10", Rounding.HALF_AWAY, f"rule B: {ISO_80000}"),
    ("1235.0", "1240", "10", Rounding.HALF_AWAY, f"rule B: {ISO_80000}"),
]


@pytest.mark.parametrize(
    ("figure", "rounded", "step", "rule", "source"),
    ROUNDED,
    ids=[f"{figure} to {step}, {source}" for figure, _, step, _, source in ROUNDED],
)
def test_rounding_gives_the_published_figure(
    figure: str, rounded: str, step: str, rule: Rounding, source: str
) -> None:
    assert _rounded(figure, step=step, rule=rule) == Decimal(rounded)


# quantity, limit, which limit, step, observed, rounded, conforms by the rounding method
E29_ROWS = [
    ("yield point psi", "60000", "min", "100", "59940", "59900", False),
    ("yield point psi", "60000", "min", "100", "59950", "60000", True),
    ("yield point psi", "60000", "min", "100", "59960", "60000", True),
    ("nickel %", "57", "min", "1", "56.4", "56", False),
    ("nickel %", "57", "min", "1", "56.5", "56", False),
    ("nickel %", "57", "min", "1", "56.6", "57", True),
    ("conductivity mS/m", "40", "max", "1", "40.4", "40", True),
    ("conductivity mS/m", "40", "max", "1", "40.5", "40", True),
    ("conductivity mS/m", "40", "max", "1", "40.6", "41", False),
    ("sodium bicarbonate %", "0.5", "max", "0.1", "0.54", "0.5", True),
    ("sodium bicarbonate %", "0.5", "max", "0.1", "0.55", "0.6", False),
    ("sodium bicarbonate %", "0.5", "max", "0.1", "0.56", "0.6", False),
]
e29_rows = pytest.mark.parametrize(
    ("quantity", "limit", "side", "step", "observed", "rounded", "conforms"),
    E29_ROWS,
    ids=[f"{row[0]} {row[4]}: {E29}" for row in E29_ROWS],
)


@e29_rows
def test_the_rounding_method_decides_as_published(
    *, quantity: str, limit: str, side: str, step: str, observed: str, rounded: str, conforms: bool
) -> None:
    value = _rounded(observed, step=step, rule=Rounding.HALF_EVEN)
    assert value == Decimal(rounded)
    assert (value >= Decimal(limit) if side == "min" else value <= Decimal(limit)) is conforms


@e29_rows
def test_a_verdict_here_is_by_the_absolute_method(
    *, quantity: str, limit: str, side: str, step: str, observed: str, rounded: str, conforms: bool
) -> None:
    """E29's other method: the unrounded value is compared, so any amount past the limit is out.

    All twelve observed values of the table lie past their limit; rounding hides that for six of them.
    """
    value, edge = _scaled(observed), _scaled(limit)
    limits = conformity.Limits(edge, 10**12) if side == "min" else conformity.Limits(0, edge)
    plain = conformity.Rule("plain", 1, "shelf", Decimal(0))
    assert conformity.decide(value, limits, u_nm=0.0, rule=plain).verdict is conformity.Verdict.OUT
    assert conformity.decide(edge, limits, u_nm=0.0, rule=plain).verdict is conformity.Verdict.IN


def test_ties_are_read_on_the_decimal_figure_not_on_a_binary_float() -> None:
    """2.675 as a float is slightly less; the Python documentation of round() prints 2.67 for it."""
    assert round(2.675, 2) == 2.67
    assert _rounded("2.675", step="0.01", rule=Rounding.HALF_EVEN) == Decimal("2.68")
    assert length.show(length.parse("26.75 mm", unit=Unit.MM).nm, length.Display(Unit.MM)) == "26.8 mm"


def test_a_quarter_inch_allowance_is_six_and_a_third_millimetres_not_six() -> None:
    """Common practice, no source: a maker who works in inches is held to inches."""
    quarter = length.parse("1/4", unit=Unit.INCH).nm
    nominal = length.parse("13 1/2", unit=Unit.INCH).nm
    assert nominal + quarter == length.parse("13 3/4", unit=Unit.INCH).nm == length.from_mm("349.25")
    assert nominal + quarter > length.from_mm("348.9")


def test_a_half_reading_is_doubled_exactly() -> None:
    """Common practice, no source: halves are read flat and doubled for the girth."""
    assert 2 * length.parse("13 5/8", unit=Unit.INCH).nm == length.parse("27 1/4", unit=Unit.INCH).nm


SCALE = 10**7


def _scaled(figure: str) -> int:
    scaled = Decimal(figure) * SCALE
    assert scaled == int(scaled)
    return int(scaled)


def _rounded(figure: str, *, step: str, rule: Rounding) -> Decimal:
    return Decimal(length.round_to(_scaled(figure), step_nm=_scaled(step), rule=rule)) / SCALE
