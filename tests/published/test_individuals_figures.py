"""Charts of single figures against published ones."""

import pytest

from inventory.calc.drift.control_limits import (
    D2_OF_TWO,
    D3_OF_TWO,
    D4_OF_TWO,
    natural_limits,
    prediction_factor,
)
from inventory.calc.drift.individuals import individuals_chart
from tests.closeness import to_printed_digits

# NIST/SEMATECH e-Handbook 6.3.2.2, flow rates of ten batches; found in public transcriptions.
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
ONE = 1_000_000


def test_ten_flow_rates() -> None:
    """Mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159; found.

    The handbook divides by the rounded d2 = 1.128; the limits are compared after undoing that.
    """
    values = [round(flow * ONE) for flow in FLOW]
    # The eleventh only closes the baseline of ten.
    chart = individuals_chart([*values, values[-1]], division_nm=1)
    assert chart.mean_nm is not None
    assert chart.mean_range_nm is not None
    assert chart.natural is not None
    assert to_printed_digits(chart.mean_nm / ONE, "50.81")
    assert to_printed_digits(chart.mean_range_nm / ONE, "1.8778")
    rounded = natural_limits(chart.mean_nm, chart.mean_range_nm * D2_OF_TWO / 1.128)
    assert to_printed_digits(rounded.high / ONE, "55.8041")
    assert to_printed_digits(rounded.low / ONE, "45.8159")
    assert abs(chart.natural.high - rounded.high) < 0.002 * ONE
    assert not chart.points[-1].signals


@pytest.mark.parametrize(
    ("value", "printed"), [(D2_OF_TWO, "1.128"), (D3_OF_TWO, "0.853"), (D4_OF_TWO, "3.267")]
)
def test_the_constants_of_moving_ranges(value: float, printed: str) -> None:
    """ASTM E2587 and ISO 7870-2, factors for two; as transcribed in public; found."""
    assert to_printed_digits(value, printed)


@pytest.mark.parametrize(
    ("count", "own", "borrowed"),
    [(5, "7.25", "3.98"), (8, "4.80", "3.72"), (10, "4.29", "3.62"), (20, "3.53", "3.36")],
)
def test_prediction_factors_at_three_sigma(count: int, own: str, borrowed: str) -> None:
    """t at 0.27 % times √(1 + 1/m), with the SD of m figures alone and with ten borrowed degrees (ours)."""
    assert to_printed_digits(prediction_factor(count, dof=count - 1, false_alarm=0.0027), own)
    assert to_printed_digits(prediction_factor(count, dof=count + 9, false_alarm=0.0027), borrowed)
