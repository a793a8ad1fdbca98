"""The same figures by R: another language, other authors, other algorithms.

`r_figures/figures.R` says how each was made and `r_figures/figures.csv` holds what R printed (R 4.2.2 and
lme4 1.1.31 of Debian 12); neither is run here. R searches for its roots and optimises its likelihoods to a
limited number of digits, which the tolerances beside the checks allow for.
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import pytest

from inventory.calc import intervals, pairs
from inventory.calc.conformity import Limits
from inventory.calc.gauge_study import Study, StudyReading, analyse
from inventory.calc.length import Unit, parse
from inventory.calc.risk import MakerSpread, overall_risk
from inventory.calc.sampling.attributes import SinglePlan
from inventory.calc.sampling.curves import passing_chance
from inventory.calc.sampling.remaining import Sample, Sides, limits_of_bad
from inventory.calc.sampling.variables import VariablesPlan, acceptance, m_from_k

HERE = Path(__file__).parent / "r_figures"
MM = 1_000_000
ROOT_OF_R = 1e-8  # uniroot and qt with a non-centrality stop about here
REML_OF_R = 1e-6  # lmer stops when the likelihood no longer moves


@cache
def by_r() -> dict[str, float]:
    lines = [line for line in (HERE / "figures.csv").read_text().splitlines() if not line.startswith("#")]
    return {row["name"]: float(row["value"]) for row in csv.DictReader(lines)}


def figures(prefix: str) -> list[tuple[str, list[float]]]:
    """Names that begin so, with the numbers that stand in them."""
    found = [name for name in by_r() if name.startswith(prefix)]
    return [(name, [float(part) for part in name.removeprefix(prefix).split("_")]) for name in found]


@pytest.mark.parametrize(("name", "given"), figures("least_bad_"))
def test_the_least_number_of_bad_pieces(name: str, given: list[float]) -> None:
    size, inspected, bad = map(int, given)
    found = limits_of_bad(Sample(size, inspected, bad), sides=Sides.AT_LEAST)
    assert found.in_batch.least == by_r()[name]


@pytest.mark.parametrize(("name", "given"), figures("most_bad_"))
def test_the_greatest_number_of_bad_pieces(name: str, given: list[float]) -> None:
    size, inspected, bad = map(int, given)
    found = limits_of_bad(Sample(size, inspected, bad), sides=Sides.AT_MOST)
    assert found.in_batch.most == by_r()[name]


@pytest.mark.parametrize(("name", "given"), figures("passing_"))
def test_the_chance_that_a_batch_passes(name: str, given: list[float]) -> None:
    size, n, accept, bad = map(int, given)
    found = passing_chance(SinglePlan(n, accept, accept + 1), batch_size=size, bad=bad)
    assert found == pytest.approx(by_r()[name], rel=1e-10)


@pytest.mark.parametrize("kind", ["exact", "score"])
@pytest.mark.parametrize(("found", "of"), [(3, 13), (0, 10), (7, 80)])
def test_intervals_of_a_share(kind: str, found: int, of: int) -> None:
    interval = (intervals.clopper_pearson if kind == "exact" else intervals.wilson)(found, of)
    for end, value in (("low", interval.low), ("high", interval.high)):
        assert value == pytest.approx(by_r()[f"{kind}_share_{end}_{found}_{of}"], rel=1e-10, abs=1e-12)


@pytest.mark.parametrize("sides", ["one", "two"])
@pytest.mark.parametrize(
    ("n", "coverage", "confidence"),
    [(10, 0.95, 0.95), (43, 0.9, 0.99), (20, 0.99, 0.9)],
)
def test_tolerance_factors(sides: str, n: int, coverage: float, confidence: float) -> None:
    factor = intervals.one_sided_factor if sides == "one" else intervals.two_sided_factor
    printed = by_r()[f"{sides}_sided_{n}_{coverage:g}_{confidence:g}"]
    assert factor(n, coverage=coverage, confidence=confidence) == pytest.approx(printed, rel=ROOT_OF_R)


@pytest.mark.parametrize(("name", "given"), figures("variables_passing_"))
def test_sampling_by_variables(name: str, given: list[float]) -> None:
    n, k, share = int(given[0]), given[1], given[2]
    assert acceptance(VariablesPlan(n, k, m_from_k(k, n=n)), share) == pytest.approx(by_r()[name], rel=1e-9)


@pytest.mark.parametrize("wrong", ["in", "out"])
@pytest.mark.parametrize("given", [(6, 3, 0, 1.5, 2.4675), (6, 2, 2, 2, 4), (10, 5, -3, 1, 0)])
def test_overall_risks(wrong: str, given: tuple[float, ...]) -> None:
    half, sd, shift, u, guard = (figure * MM for figure in given)
    found = overall_risk(
        Limits(round(-half), round(half)), u_nm=u, maker=MakerSpread(shift, sd), guard_nm=round(guard)
    )
    share = found.wrongly_in if wrong == "in" else found.wrongly_out
    name = "_".join(["wrongly", wrong, *(f"{figure:g}" for figure in given)])
    assert share == pytest.approx(by_r()[name], rel=ROOT_OF_R)


@cache
def readings() -> tuple[StudyReading, ...]:
    lines = [line for line in (HERE / "readings.csv").read_text().splitlines() if not line.startswith("#")]
    return tuple(
        StudyReading(
            piece=row["piece"],
            person=row["person"],
            round=int(row["round"]),
            value_nm=parse(row["mm"], unit=Unit.MM).nm,
        )
        for row in csv.DictReader(lines)
    )


def study() -> Study:
    return analyse(readings(), division_nm=500_000, pool_above=1.0)  # R's model keeps piece × person


@pytest.mark.parametrize("row", ["piece", "person", "both", "repeat"])
def test_the_mean_squares_of_a_study(row: str) -> None:
    anova = study().anova
    lines = {"piece": anova.piece, "person": anova.person, "both": anova.interaction, "repeat": anova.repeat}
    assert lines[row].mean_square_nm2 / MM**2 == pytest.approx(by_r()[f"mean_square_{row}"], rel=1e-10)


@pytest.mark.parametrize("part", ["piece", "person", "piece_by_person", "Residual"])
def test_the_components_of_a_study_by_restricted_likelihood(part: str) -> None:
    # Balanced, and no component negative: REML and the analysis of variance give the same estimates.
    found = study()
    assert found.interaction is not None
    parts = {
        "piece": found.piece,
        "person": found.person,
        "piece_by_person": found.interaction,
        "Residual": found.repeatability,
    }
    assert parts[part].estimated_nm2 / MM**2 == pytest.approx(by_r()[f"variance_{part}"], rel=REML_OF_R)


def of_person(number: str) -> list[int]:
    return [r.value_nm for r in readings() if r.person == number and r.round == 1]


def test_two_people_compared() -> None:
    found = pairs.paired(of_person("1"), of_person("2"))
    interval = found.interval()
    assert interval.low / MM == pytest.approx(by_r()["paired_low"], rel=1e-10)
    assert interval.high / MM == pytest.approx(by_r()["paired_high"], rel=1e-10)
    assert found.p == pytest.approx(by_r()["paired_p"], rel=1e-10)
    agreed = pairs.equivalence(found, margin_nm=3 * MM)
    assert agreed.p == pytest.approx(by_r()["equivalence_p_3mm"], rel=1e-10)
