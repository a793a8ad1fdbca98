"""Budgets: adding parts up, and agreeing with the uncertainties that judging works with."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.calc import budget, tape_class, uncertainty
from inventory.calc.budget import Component, Distribution, Known, PointParts
from inventory.calc.errors import ImpossibleInput
from inventory.calc.tape_class import CheckedLength, TapeCheck, TapeClass
from inventory.calc.uncertainty import ReadingError
from tests.calc.plans import MM, errors
from tests.closeness import same_float

counts = st.integers(1, 6)
dofs = st.none() | st.integers(1, 60)
sizes = st.floats(0, 10.0 * MM)


def part(u_nm: float = MM, *, dof: float | None = None, sensitivity: float = 1.0) -> Component:
    return Component("part", u_nm, "invented", dof=dof, sensitivity=sensitivity)


def parts_of(error: ReadingError, *, fixed_nm: float = 0.0, pair_nm: float = 0.0) -> PointParts:
    return PointParts(
        each_reading=(budget.repeatability(error, source="study"),),
        each_person=(budget.person(error, source="study"),),
        placing_share=budget.placing_share(error),
        fixed=(budget.tape(fixed_nm),),
        pair=Component("left-right", pair_nm, "invented"),
    )


@st.composite
def studied_errors(draw: st.DrawFn) -> ReadingError:
    plain = draw(errors)
    return ReadingError(
        plain.repeat_sd_nm,
        plain.person_sd_nm,
        repeat_dof=draw(dofs),
        person_dof=draw(dofs),
        placing_sd_nm=draw(st.integers(0, plain.person_sd_nm)),
    )


@given(studied_errors(), counts, counts, st.data())
def test_with_repeat_and_person_alone_the_budget_is_the_uncertainty(
    error: ReadingError, left: int, right: int, data: st.DataObject
) -> None:
    parts = parts_of(error, pair_nm=3.0 * MM)
    people = data.draw(st.integers(1, left))
    for table, known in (
        (parts.of_mean(readings=left, people=people), uncertainty.mean(error, readings=left, people=people)),
        (
            parts.of_full_from_halves(left=left, right=right, people=people),
            uncertainty.full_from_halves(error, left_readings=left, right_readings=right, people=people),
        ),
        (
            parts.of_full_from_one_half(readings=left, people=people),
            uncertainty.full_from_one_half(error, readings=left, people=people, pair_sd_nm=3.0 * MM),
        ),
        (
            parts.of_difference(left=left, right=right),
            uncertainty.difference(error, left_readings=left, right_readings=right),
        ),
    ):
        assert same_float(table.u_nm, known.u_nm)
        assert table.dof == known.dof


@given(studied_errors(), sizes, st.integers(0, 2 * MM), counts)
def test_the_packed_parts_judge_as_the_budget_says(
    error: ReadingError, fixed_nm: float, division_nm: int, readings: int
) -> None:
    parts = PointParts(
        each_reading=(budget.repeatability(error, source="study"), budget.resolution(division_nm)),
        each_person=(budget.person(error, source="study"),),
        placing_share=budget.placing_share(error),
        fixed=(budget.tape(fixed_nm), budget.state(fixed_nm / 2, source="rested a day")),
    )
    packed = budget.reading_error(parts)
    # Each of three SDs was rounded up to a whole nanometre: never below, at most two nanometres above.
    for table, u_nm in (
        (parts.of_mean(readings=readings), uncertainty.of_mean(packed, readings=readings)),
        (parts.of_difference(), uncertainty.of_difference(packed, left_readings=1, right_readings=1)),
    ):
        assert -1e-3 <= u_nm - table.u_nm <= 3


@given(st.lists(st.tuples(sizes, dofs), min_size=1, max_size=6))
def test_shares_add_up_and_no_part_is_larger_than_the_whole(drawn: list[tuple[float, int | None]]) -> None:
    table = budget.combine([part(u, dof=dof) for u, dof in drawn])
    largest = max(u for u, _ in drawn)
    assert largest * (1 - 1e-12) <= table.u_nm <= largest * math.sqrt(len(drawn)) * (1 + 1e-12)
    if table.u_nm > 1e-100:
        assert math.isclose(sum(row.percent for row in table.rows), 100.0, rel_tol=1e-9)
    finite = [dof for u, dof in drawn if dof is not None]
    if table.dof is not None:
        assert min(finite) <= table.dof <= (table.dof_unrounded or math.inf) * (1 + 1e-9)
    assert table.k >= budget.coverage_factor(None) - 1e-12


@given(st.integers(1, 200), st.floats(0.01, 0.999))
def test_the_coverage_factor_is_that_of_the_t_tables(dof: int, probability: float) -> None:
    other = float(stats.t.ppf((1 + probability) / 2, dof))
    assert math.isclose(budget.coverage_factor(dof, probability=probability), other, rel_tol=1e-9)
    assert budget.coverage_factor(dof, probability=probability) > budget.coverage_factor(
        None, probability=probability
    )


def test_welch_and_satterthwaite_cover_as_promised_in_a_simulation() -> None:
    """Two SDs from 4 and 9 degrees of freedom: U = k·u holds the truth in 95 of 100 trials."""
    rng = np.random.default_rng(20260301)
    trials = 4_000
    error = rng.normal(0, 1, trials) + rng.normal(0, 2, trials)
    s1 = np.sqrt(rng.chisquare(4, trials) / 4)
    s2 = 2 * np.sqrt(rng.chisquare(9, trials) / 9)
    held = [
        abs(off) <= budget.combine([part(a, dof=4), part(b, dof=9)]).expanded_nm
        for off, a, b in zip(error, s1, s2, strict=True)
    ]
    # Cutting the degrees of freedom down makes the promise slightly more than kept.
    assert 0.942 <= statistics.fmean(held) <= 0.970


@given(st.floats(0, 1e9), st.integers(1, 10**7))
def test_a_shown_uncertainty_is_never_too_small_and_at_most_a_step_too_large(nm: float, step: int) -> None:
    shown = budget.rounded_up_nm(nm, step_nm=step)
    assert shown % step == 0
    assert -1e-6 * step - 1e-6 <= shown - nm < step * (1 + 1e-6)


def test_a_shown_uncertainty_stays_on_its_step_through_the_noise_of_floats() -> None:
    assert budget.rounded_up_nm(3 * 0.4 * MM) == 1_200_000
    assert budget.rounded_up_nm(0.0) == 0
    table = budget.combine([part(600_000.1)], k=2)
    assert table.shown_nm() == 1_300_000
    assert table.probability is None


def test_a_full_girth_doubles_what_is_common_and_a_difference_loses_it() -> None:
    parts = PointParts(each_reading=(part(0.0),), fixed=(part(MM),))
    assert parts.of_full_from_halves().u_nm == 2 * MM
    difference = parts.of_difference()
    assert difference.u_nm == 0
    assert [row.cancels for row in difference.rows] == [False, True]
    assert [row.percent for row in difference.rows] == [0, 0]


def test_the_row_that_adds_most_is_named() -> None:
    table = budget.combine([Component("tape", 1.0, "a"), Component("person", 3.0, "b")])
    assert table.largest.component.name == "person"
    assert same_float(table.largest.percent, 90.0)


def test_a_tape_by_class_by_check_and_by_statement() -> None:
    by_class = budget.from_class(TapeClass.II, 330 * MM)
    assert by_class.distribution is Distribution.RECTANGULAR
    assert same_float(by_class.u_nm, tape_class.tape_u_nm(TapeClass.II, 330 * MM, from_end=True))
    check = TapeCheck(CheckedLength(300 * MM, (299 * MM,)), CheckedLength(600 * MM, (598 * MM,)))
    found = tape_class.evaluate(check, tape_class=TapeClass.III)
    corrected = budget.from_tape_check(found, 450 * MM, corrected=True)
    left_alone = budget.from_tape_check(found, 450 * MM, corrected=False)
    assert corrected.known is Known.A
    assert corrected.u_nm == found.correct(450 * MM).u_nm
    assert same_float(left_alone.u_nm, math.hypot(1.5 * MM, corrected.u_nm))
    assert corrected.dof is None
    assert budget.tape(MM).u_nm == MM
    with pytest.raises(ImpossibleInput, match="without a class"):
        budget.from_class(TapeClass.UNCLASSED, 330 * MM)


def test_the_repeats_of_a_tape_check_bring_their_degrees_of_freedom() -> None:
    near, far = CheckedLength(300 * MM, (299 * MM, 301 * MM)), CheckedLength(600 * MM, (599 * MM, 601 * MM))
    found = tape_class.evaluate(TapeCheck(near, far, division_nm=0, rule_u_nm=0.0), tape_class=TapeClass.III)
    # Nothing but repeats: all of the two degrees of freedom, at any length.
    for mm in (300, 450, 900):
        alone = budget.from_tape_check(found, mm * MM, corrected=True)
        assert alone.dof is not None
        assert same_float(alone.dof, 2.0)
    with_rule = tape_class.evaluate(TapeCheck(near, far, rule_u_nm=1.0 * MM), tape_class=TapeClass.III)
    part = budget.from_tape_check(with_rule, 600 * MM, corrected=False)
    expected = uncertainty.welch_satterthwaite(
        [(1.0 * MM, 2), (math.sqrt(part.u_nm**2 - (1.0 * MM) ** 2), None)]
    )
    assert part.dof is not None
    assert expected is not None
    assert math.isclose(part.dof, expected, rel_tol=1e-9)


def test_the_level_counts_with_the_steepest_neighbour() -> None:
    neighbours = [(430 * MM, 200 * MM), (280 * MM, 50 * MM)]
    assert budget.level_sensitivity(330 * MM, neighbours) == 1.0
    assert budget.level(330 * MM, neighbours, u_height_nm=3.0 * MM).u_nm == 3.0 * MM
    with pytest.raises(ImpossibleInput, match="neighbouring girth"):
        budget.level_sensitivity(330 * MM, [])
    with pytest.raises(ImpossibleInput, match="distance above zero"):
        budget.level_sensitivity(330 * MM, [(MM, 0)])


def test_a_planning_value_is_type_b_and_a_studied_one_type_a() -> None:
    planned = budget.repeatability(ReadingError(MM, MM), source="planning value")
    from_study = budget.person(ReadingError(MM, 2 * MM, person_dof=3), source="study")
    assert (planned.known, planned.dof, planned.distribution) == (Known.B, None, Distribution.NORMAL)
    assert (from_study.known, from_study.dof) == (Known.A, 3)
    assert from_study.distribution is Distribution.STUDENT


def test_labels_are_words() -> None:
    assert Known.A.label == "from our own readings"
    assert len({shape.label for shape in Distribution}) == len(Distribution)


@pytest.mark.parametrize(
    ("build", "words"),
    [
        (lambda: budget.combine([]), "Give at least one"),
        (lambda: budget.combine([part()], probability=1.0), "between 0 and 1"),
        (lambda: budget.combine([part()], k=-1.0), "Coverage factor"),
        (lambda: budget.coverage_factor(0), "Degrees of freedom"),
        (lambda: budget.rounded_up_nm(1.0, step_nm=0), "above zero"),
        (lambda: Component(" ", 1.0, "x"), "Name of a part is empty"),
        (lambda: part(-1.0), "Uncertainty of part"),
        (lambda: part(math.nan), "Uncertainty of part"),
        (lambda: part(sensitivity=math.inf), "Sensitivity of part"),
        (lambda: part(dof=0), "Degrees of freedom of part"),
        (lambda: Distribution.NORMAL.u_from_half_width(1.0), "which has no bounds"),
        (lambda: Distribution.TRIANGULAR.u_from_half_width(-1.0), "Half-width"),
        (lambda: budget.resolution(-1), "Division"),
        (lambda: parts_of(ReadingError(1, 1)).of_mean(readings=0), "at least one reading"),
        (lambda: parts_of(ReadingError(1, 1)).of_mean(people=2), "Number of people is 2 for 1 readings"),
        (lambda: PointParts(each_reading=(part(),)).of_full_from_one_half(), "read the other half as well"),
    ],
)
def test_impossible_budgets_are_refused(build: object, words: str) -> None:
    assert callable(build)
    with pytest.raises(ImpossibleInput, match=words):
        build()


def test_a_triangular_part_spreads_as_the_sum_of_two_dice() -> None:
    rng = np.random.default_rng(3)
    drawn = rng.uniform(-0.5, 0.5, (2, 200_000)).sum(axis=0)
    assert abs(drawn.std() / Distribution.TRIANGULAR.u_from_half_width(1.0) - 1) < 0.01
