"""Uncertainties against published figures.

Each check names its source. "From memory" means that the figure was recalled by us, not read in the
source while this was written; the arithmetic agrees with every printed digit. "Found" means that the
figure was read in a public text. Other quantities than lengths stand in for lengths: one degree, one
volt or one micrometre is counted as so many whole nanometres, which changes no formula.
"""

import statistics

import pytest

from inventory.calc import uncertainty
from inventory.calc.uncertainty import ReadingError
from tests.closeness import to_printed_digits

MILLION = 1_000_000

# GUM (JCGM 100:2008) Table 1, in °C; from memory, the mean and SD printed beside it agree to all digits.
GUM_TABLE_1 = """96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07
100.33 100.42 100.68 100.95 101.11 101.20 101.57 101.84 102.36 102.72"""
TEMPERATURES = [round(float(text) * MILLION) for text in GUM_TABLE_1.split()]

# GUM Table H.9: daily means less 10 V, and daily SDs of five readings each, in µV; found.
DAILY_MEANS_UV = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]
DAILY_SDS_UV = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]

# NPL Good Practice Guide No. 11 (Bell, 2001) section 3; from memory.
NPL_READINGS = [16, 19, 18, 16, 17, 19, 20, 15, 17, 13]


def test_mean_of_twenty_temperatures() -> None:
    """GUM 4.4.3: 100.145 °C; from memory."""
    assert to_printed_digits(uncertainty.mean_nm(TEMPERATURES) / MILLION, "100.145")


def test_uncertainty_of_the_mean_of_twenty_temperatures() -> None:
    """GUM 4.4.3: s = 1.489 °C, s of the mean = 0.333 °C; from memory."""
    sd = round(statistics.stdev(TEMPERATURES))
    assert to_printed_digits(sd / MILLION, "1.489")
    assert to_printed_digits(uncertainty.of_mean(ReadingError(sd, 0), readings=20) / MILLION, "0.333")


def test_mean_of_ten_readings() -> None:
    """NPL Good Practice Guide No. 11 section 3: mean 17, estimated SD 2.1; from memory."""
    assert uncertainty.mean_nm([reading * MILLION for reading in NPL_READINGS]) == 17 * MILLION
    assert to_printed_digits(statistics.stdev(NPL_READINGS), "2.1")


def test_mean_of_repeated_lengths_of_a_gauge() -> None:
    """GUM H.1.3.2: a pooled SD of 13 nm and five readings give 5.8 nm; found."""
    assert to_printed_digits(uncertainty.of_mean(ReadingError(13, 0), readings=5), "5.8")


def test_mean_of_ten_lengths_of_string() -> None:
    """NPL Good Practice Guide No. 11 section 7.2: SD 2.1 mm, ten readings, 0.7 mm; from memory."""
    u_nm = uncertainty.of_mean(ReadingError(2_100_000, 0), readings=10)
    assert to_printed_digits(u_nm / MILLION, "0.7")


def test_mean_of_daily_voltages() -> None:
    """GUM H.5, Table H.9: grand mean 10.000 097 V; found."""
    mean = uncertainty.mean_nm([10_000_000 + microvolts for microvolts in DAILY_MEANS_UV])
    assert to_printed_digits(mean / MILLION, "10.000097")


def _voltmeter() -> ReadingError:
    """Readings within a day as repeats, days as persons, in picovolts."""
    within = statistics.fmean(sd**2 for sd in DAILY_SDS_UV)
    between_means = statistics.variance(DAILY_MEANS_UV)
    # The SD of single readings across days, which is what "two people SD" is across people.
    across = between_means - within / 5 + within
    return ReadingError.from_planning(round(within**0.5 * MILLION), round(across**0.5 * MILLION))


def test_spread_of_daily_means_needs_a_day_part_of_its_own() -> None:
    """GUM H.5.2.2: SD of the daily means 57 µV (found), between-day component 43 µV (from memory)."""
    assert to_printed_digits(statistics.stdev(DAILY_MEANS_UV), "57")
    assert to_printed_digits(_voltmeter().person_sd_nm / MILLION, "43")


def test_fifty_readings_on_ten_days_are_as_sure_as_ten_days() -> None:
    """GUM H.5.2: u of the grand mean 57/√10 = 18 µV, not a fiftieth of the variance; from memory."""
    u = uncertainty.of_mean(_voltmeter(), readings=50, people=10)
    assert to_printed_digits(u / MILLION, "18")
    assert uncertainty.of_mean(_voltmeter(), readings=50, people=1) > 2 * u


@pytest.mark.parametrize(
    ("half_width", "printed", "source"),
    [
        (0.26, "0.15", "GUM 4.3.7: a coefficient known to ±0.26, from memory"),
        (0.5, "0.29", "GUM F.2.2.1: a resolution of 1, so ±0.5, from memory"),
        (0.5, "0.3", "NPL Good Practice Guide No. 11 section 7.2: resolution, from memory"),
        (10.0, "5.8", "NPL Good Practice Guide No. 11 section 7.2: slack in the string, from memory"),
        (50.0, "29", "EA-4/02 M:2013 S10: mechanical effects of a calliper in µm, from memory"),
        (0.05, "0.029", "GUM H.1.3.5: a temperature difference known to ±0.05 °C, from memory"),
    ],
)
def test_a_value_only_known_to_lie_between_bounds(half_width: float, printed: str, source: str) -> None:
    u_nm = uncertainty.pair_sd_from_limit(round(half_width * MILLION))
    assert to_printed_digits(u_nm / MILLION, printed), source


@pytest.mark.parametrize(
    ("u", "k", "printed", "source"),
    [
        (6.4, 2, "12.8", "NPL Good Practice Guide No. 11 section 7.2, mm, from memory"),
        (32.0, 2.92, "93", "GUM H.1.6: U_99 of a gauge block, nm, from memory"),
        (33.0, 1.83, "60", "EA-4/02 M:2013 S10: calliper, 0.06 mm in µm, from memory"),
        (1.03, 2.09, "2.2", "GUM G.4.1: U_95 in percent, from memory"),
        (20 / 3, 3, "20", "GUM H.1.3.2: 20 nm given as three standard deviations, found"),
    ],
)
def test_an_expanded_uncertainty(u: float, k: float, printed: str, source: str) -> None:
    assert to_printed_digits(uncertainty.expanded(u, k), printed), source
