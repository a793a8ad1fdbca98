"""Person-to-person studies against published figures.

"Found": read in a public text or data file. "From memory": recalled, not seen; the data below then give the
same digits as the figures that were found. Other quantities stand in for lengths: one hundredth of a
millimetre, or one degree per watt, is counted as so many nanometres, which changes no formula.
"""

import numpy as np
import pytest

from inventory.calc import gauge_study
from inventory.calc.gauge_study import RangeParts, Study, StudyReading, Table, parts_from_ranges
from inventory.calc.gauge_study.anova import variance_ratio
from inventory.calc.gauge_study.mean_squares import MeanSquare
from inventory.calc.gauge_study.range_factors import d2, d2_star, d3
from tests.closeness import to_printed_digits

ONE = 1_000_000

# Measurement Systems Analysis, 4th edition (AIAG), chapter III section B: ten parts, appraisers A, B, C,
# three trials each; found in five public copies that agree, and its sums of squares with them.
AIAG = """
0.29 0.41 0.64  0.08 0.25 0.07  0.04 -0.11 -0.15
-0.56 -0.68 -0.58  -0.47 -1.22 -0.68  -1.38 -1.13 -0.96
1.34 1.17 1.27  1.19 0.94 1.34  0.88 1.09 0.67
0.47 0.5 0.64  0.01 1.03 0.2  0.14 0.2 0.11
-0.8 -0.92 -0.84  -0.56 -1.2 -1.28  -1.46 -1.07 -1.45
0.02 -0.11 -0.21  -0.2 0.22 0.06  -0.29 -0.67 -0.49
0.59 0.75 0.66  0.47 0.55 0.83  0.02 0.01 0.21
-0.31 -0.2 -0.17  -0.63 0.08 -0.34  -0.46 -0.56 -0.49
2.26 1.99 2.01  1.8 2.12 2.19  1.77 1.45 1.87
-1.36 -1.25 -1.31  -1.68 -1.62 -1.5  -1.49 -1.77 -2.16
"""

# Thermal impedance of a power module (Houf and Berman 1988), in Montgomery, Introduction to Statistical
# Quality Control: ten parts, three inspectors, three readings each; from memory.
IMPEDANCE = """
37 38 37  41 41 40  41 42 41
42 41 43  42 42 42  43 42 43
30 31 31  31 31 31  29 30 28
42 43 42  43 43 43  42 42 42
28 30 29  29 30 29  31 29 29
42 42 43  45 45 45  44 46 45
25 26 27  28 28 30  29 27 27
40 40 40  43 42 42  43 43 41
25 25 25  27 29 28  26 26 26
35 34 34  35 35 34  35 34 35
"""


def _readings(text: str, *, rounds: int = 3) -> list[StudyReading]:
    rows = [line.split() for line in text.strip().splitlines()]
    return [
        StudyReading(str(piece), "ABC"[n // rounds], n % rounds + 1, round(float(figure) * ONE))
        for piece, row in enumerate(rows, start=1)
        for n, figure in enumerate(row)
    ]


def _aiag() -> Study:
    return gauge_study.analyse(_readings(AIAG), division_nm=1)


def _table() -> Table:
    return gauge_study.arrange(_readings(AIAG))


def test_means_and_ranges_of_the_appraisers() -> None:
    """Fig. III-B 12: means and mean ranges of A, B, C, the range of the part means; found."""
    values = np.array(_table().values_nm) / ONE
    ranges = np.ptp(values, axis=2)
    for who, mean, mean_range in ((0, "0.1903", None), (1, "0.0683", "0.513"), (2, "-0.2543", "0.328")):
        assert to_printed_digits(_aiag().people[who].mean_nm / ONE, mean)
        if mean_range is not None:
            assert to_printed_digits(float(ranges[:, who].mean()), mean_range)
    assert to_printed_digits(float(ranges.mean()), "0.3417")
    assert to_printed_digits(float(np.ptp(values.mean(axis=(1, 2)))), "3.511")
    assert to_printed_digits(float(values.mean()), "0.0014")


def _report_form() -> RangeParts:
    """The report form goes on from figures rounded on the sheet."""
    return parts_from_ranges(
        mean_range_nm=0.3417,
        person_range_nm=0.4446,
        piece_range_nm=3.511,
        pieces=10,
        people=3,
        rounds=3,
    )


# The form rounds its factors to four digits: 0.3146 for 0.314556 is off by this much.
ROUNDED_FACTORS = 1.5e-4


def test_the_report_form_of_averages_and_ranges() -> None:
    """Fig. III-B 16: K1 0.5908, EV 0.20188, TV 1.14610, %EV 17.62, %GRR 26.68, %PV 96.38, 5.094; found."""
    form = _report_form()
    assert to_printed_digits(1 / d2(3), "0.5908")
    assert to_printed_digits(form.repeatability_nm, "0.20188")
    shares = [
        form.percent_of_total(sd_nm) for sd_nm in (form.repeatability_nm, form.measuring_nm, form.piece_nm)
    ]
    for value, printed in zip(
        [form.total_nm, *shares, form.groups], [1.14610, 17.62, 26.68, 96.38, 5.094], strict=True
    ):
        assert value is not None
        assert abs(value / printed - 1) <= 2 * ROUNDED_FACTORS
    # The form truncates: 5 categories by this method.
    assert form.groups is not None
    assert int(form.groups) == 5


def test_averages_and_ranges_from_the_readings_themselves() -> None:
    """Unrounded: EV 0.201863, AV 0.229684, GRR 0.305783, PV 1.104455, TV 1.146003, ndc 5.0928 (ours)."""
    parts = gauge_study.average_range(_table())
    for sd_nm, printed in (
        (parts.repeatability_nm, "0.201863"),
        (parts.reproducibility_nm, "0.229684"),
        (parts.measuring_nm, "0.305783"),
        (parts.piece_nm, "1.104455"),
        (parts.total_nm, "1.146003"),
    ):
        assert to_printed_digits(sd_nm / ONE, printed)
    assert parts.groups is not None
    assert to_printed_digits(parts.groups, "5.0928")


@pytest.mark.parametrize(
    ("values", "printed"),
    [(2, "1.41421"), (3, "1.91155"), (4, "2.23887"), (5, "2.48124"), (6, "2.67253"), (7, "2.82981")],
)
def test_the_factors_of_one_range(values: int, printed: str) -> None:
    """Appendix C, d2* for one range; found. For 3, 5 and 7 values its last digit is up to 1 off."""
    assert abs(d2_star(values, ranges=1) - float(printed)) < 1.2e-5


@pytest.mark.parametrize(
    ("values", "mean", "sd"),
    [(2, "1.128", "0.853"), (3, "1.693", "0.888"), (5, "2.326", "0.864"), (10, "3.078", "0.797")],
)
def test_the_factors_of_ranges(values: int, mean: str, sd: str) -> None:
    """d2 and d3 of the control chart tables (ASTM E2587, ISO 7870-2; as transcribed in public); found."""
    assert abs(d2(values) - float(mean)) <= 0.0006
    assert abs(d3(values) - float(sd)) <= 0.0006


def test_the_analysis_of_variance() -> None:
    """Table III-B 7: SS 88.3619 of parts, 94.6471 in total, p of the interaction 0.9741 (found), F 34.44
    of the appraisers (from memory)."""
    anova = _aiag().anova
    assert to_printed_digits(anova.piece.squares_nm2 / ONE**2, "88.3619")
    assert to_printed_digits(anova.total.squares_nm2 / ONE**2, "94.6471")
    assert anova.pooled
    assert anova.interaction.p is not None
    assert to_printed_digits(anova.interaction.p, "0.9741")
    # The table tests the appraisers against the equipment alone, the study against what was pooled.
    f, _ = variance_ratio(anova.person.mean_square, anova.repeat.mean_square)
    assert f is not None
    assert to_printed_digits(f, "34.44")


def test_the_parts_with_the_interaction_pooled() -> None:
    """Table III-B 8: EV 0.199933, AV 0.226838, GRR 0.302373, PV 1.042327, TV 1.085, 7.8 % and 92.2 % of the
    variance, ndc 4.861; found. The exact GRR is 0.3023715, which the table prints as 0.302373."""
    study = _aiag()
    for part, printed in (
        (study.repeatability, "0.199933"),
        (study.reproducibility, "0.226838"),
        (study.piece, "1.042327"),
        (study.total, "1.085"),
    ):
        assert to_printed_digits(part.sd_nm / ONE, printed)
    assert abs(study.measuring.sd_nm / ONE - 0.302373) < 2e-6
    for part, printed in ((study.measuring, "7.8"), (study.piece, "92.2")):
        assert part.percent_of_variance is not None
        assert to_printed_digits(part.percent_of_variance, printed)
    assert study.groups_unrounded is not None
    assert to_printed_digits(study.groups_unrounded, "4.861")
    assert study.groups == 4


def test_the_repeats_with_the_interaction_kept() -> None:
    """Table III-B 8: EV 0.214435 when the interaction is not pooled; found."""
    study = gauge_study.analyse(_readings(AIAG), division_nm=1, pool_above=1)
    assert to_printed_digits(study.repeatability.sd_nm / ONE, "0.214435")


def test_thermal_impedance() -> None:
    """SS of the parts 3935.96 (from memory), part × inspector 0.7280, discrimination ratio 54.5 (found)."""
    study = gauge_study.analyse(_readings(IMPEDANCE), division_nm=1)
    assert to_printed_digits(study.anova.piece.squares_nm2 / ONE**2, "3935.96")
    assert study.interaction is not None
    assert to_printed_digits(study.interaction.estimated_nm2 / ONE**2, "0.7280")
    assert study.discrimination_ratio is not None
    assert to_printed_digits(study.discrimination_ratio, "54.5")


def test_days_differ_more_than_chance_lets_them() -> None:
    """GUM H.5.2.2: F = 2.25 with 9 and 40 degrees of freedom (found), against F_95 = 2.12 (from memory)."""
    # Daily SDs of the means of ten days, 57 µV, and of five readings a day, 85 µV, as printed.
    f, p = variance_ratio(MeanSquare(5 * 57.0**2, 9), MeanSquare(85.0**2, 40))
    assert f is not None
    assert p is not None
    assert to_printed_digits(f, "2.25")
    assert 0.03 < p < 0.05
    _, critical = variance_ratio(MeanSquare(2.12, 9), MeanSquare(1.0, 40))
    assert critical is not None
    assert to_printed_digits(critical, "0.050")
