"""The analysis of a study: against another program, by simulation, and what must always hold."""

import math
import statistics

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as drawn_arrays
from scipy import stats

from inventory.calc import budget, uncertainty
from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study import Study, analyse, arrange, average_range, two_way
from inventory.calc.gauge_study.mean_squares import MeanSquare, Sum
from tests.calc.gauge_study.studies import MM, drawn, readings_of

tables = st.tuples(st.integers(5, 8), st.integers(2, 3), st.integers(2, 3)).flatmap(
    lambda shape: drawn_arrays.arrays(np.int64, shape, elements=st.integers(320, 340).map(lambda mm: mm * MM))
)


def study(values: npt.ArrayLike, **options: float) -> Study:
    return analyse(readings_of(values), division_nm=MM, **options)  # type: ignore[arg-type]


def _left_over(y: npt.NDArray[np.float64], *groupings: npt.NDArray[np.int64]) -> float:
    """Residual sum of squares of a least squares fit of a mean and of groups."""
    columns = [np.ones((y.size, 1))] + [np.equal.outer(g, np.unique(g)).astype(float) for g in groupings]
    design = np.hstack(columns)
    return float(np.sum((y - design @ np.linalg.lstsq(design, y, rcond=None)[0]) ** 2))


@pytest.mark.parametrize("interaction_sd", [0.0, 3.0])
def test_the_table_is_that_of_least_squares_fits(interaction_sd: float) -> None:
    """Another road: how much each line takes off the residuals of nested fits; F from scipy.stats."""
    values = drawn(np.random.default_rng(8), people=3, interaction_sd=interaction_sd)
    piece, person, _ = (index.ravel() for index in np.indices(values.shape))
    y = values.ravel() / MM
    steps = [
        _left_over(y),
        _left_over(y, piece),
        _left_over(y, piece, person),
        _left_over(y, 10 * piece + person),
    ]
    ours = two_way(arrange(readings_of(values)), pool_above=1)
    rows = (ours.piece, ours.person, ours.interaction)
    for row, before, after in zip(rows, steps, steps[1:], strict=False):
        assert math.isclose(row.squares_nm2 / MM**2, before - after, rel_tol=1e-6)
    assert math.isclose(ours.repeat.squares_nm2 / MM**2, steps[-1], rel_tol=1e-6)
    assert [row.dof for row in (*rows, ours.repeat)] == [9, 2, 18, 30]
    for row, against in ((ours.piece, ours.interaction), (ours.interaction, ours.repeat)):
        assert row.f is not None
        assert row.p is not None
        assert math.isclose(row.f, row.mean_square_nm2 / against.mean_square_nm2, rel_tol=1e-12)
        assert math.isclose(row.p, stats.f.sf(row.f, row.dof, against.dof), rel_tol=1e-9)


@given(tables, st.floats(0, 1))
def test_sums_of_squares_and_shares_add_up(values: npt.NDArray[np.int64], pool_above: float) -> None:
    found = study(values, pool_above=pool_above)
    rows = found.anova
    assert math.isclose(
        math.fsum(r.squares_nm2 for r in rows.rows[:-1]), rows.total.squares_nm2, rel_tol=1e-12, abs_tol=1e-6
    )
    assert sum(r.dof for r in rows.rows[:-1]) == rows.total.dof == values.size - 1
    if found.total.used_nm2:
        shares = [found.repeatability, found.reproducibility, found.piece]
        assert math.isclose(math.fsum(p.percent_of_variance or 0.0 for p in shares), 100, rel_tol=1e-9)
    for part in found.parts:
        assert part.used_nm2 >= max(0.0, part.estimated_nm2) * (1 - 1e-9) - 1e-6
        assert 0 <= part.low_nm <= part.sd_nm <= part.high_nm


@given(tables)
def test_the_mean_squares_of_the_parts_have_the_right_expectation(values: npt.NDArray[np.int64]) -> None:
    """Put the estimated parts back into the expected mean squares: the mean squares come out again."""
    found = study(values, pool_above=1)
    pieces, people, rounds = values.shape
    e, o, p = (part.estimated_nm2 for part in (found.repeatability, found.person, found.piece))
    po = found.interaction.estimated_nm2 if found.interaction else 0.0
    rows = found.anova
    for mean_square, expected in (
        (rows.piece.mean_square_nm2, e + rounds * po + people * rounds * p),
        (rows.person.mean_square_nm2, e + rounds * po + pieces * rounds * o),
    ):
        assert math.isclose(mean_square, expected, rel_tol=1e-9, abs_tol=1e-3)


@given(tables, st.integers(-50, 50))
def test_a_shift_of_one_person_changes_only_what_is_said_of_people(
    values: npt.NDArray[np.int64], mm: int
) -> None:
    moved = values.copy()
    moved[:, 0, :] += mm * MM
    before, after = study(values), study(moved)
    assert after.anova.repeat == before.anova.repeat
    assert after.anova.interaction == before.anova.interaction
    assert after.piece.used_nm2 == before.piece.used_nm2
    share = mm * MM * (1 - 1 / values.shape[1])
    assert math.isclose(after.people[0].bias_nm - before.people[0].bias_nm, share, abs_tol=1.0)


@given(tables)
def test_reading_a_known_length_longer_everywhere_changes_nothing(values: npt.NDArray[np.int64]) -> None:
    before, after = study(values), study(values + 17 * MM)
    assert [p.used_nm2 for p in before.parts] == [p.used_nm2 for p in after.parts]
    assert before.error == after.error


@given(tables)
def test_biases_and_dots_sum_to_nothing(values: npt.NDArray[np.int64]) -> None:
    found = study(values)
    assert abs(math.fsum(p.bias_nm for p in found.people)) < 1
    assert len(found.dots) == values.size
    for piece in found.table.pieces:
        assert abs(math.fsum(d.off_nm for d in found.dots if d.piece == piece)) < 1


@given(tables)
def test_two_rounds_give_the_technical_error_of_measurement_of_pairs(values: npt.NDArray[np.int64]) -> None:
    pairs = values[:, :, :2]
    squares = math.fsum(float(a - b) ** 2 for a, b in pairs.reshape(-1, 2).tolist())
    found = study(pairs)
    assert math.isclose(found.tem_nm, math.sqrt(squares / (2 * pairs.size // 2)), rel_tol=1e-9, abs_tol=1e-6)
    assert found.relative_tem_percent is not None
    assert math.isclose(
        found.relative_tem_percent, 100 * found.tem_nm / float(pairs.mean()), rel_tol=1e-9, abs_tol=1e-9
    )


def test_confidence_limits_hold_what_they_promise() -> None:
    """600 studies of known parts: 95 % limits hold the truth in about 95 of 100, for each part."""
    rng = np.random.default_rng(42)
    truth = {"repeatability": 2.0, "reproducibility": math.hypot(1.5, 1.0), "piece": 5.0}
    truth["person"] = 1.5
    truth["piece × person"] = 1.0
    truth["measuring"] = math.hypot(2.0, truth["reproducibility"])
    truth["total"] = math.hypot(truth["measuring"], 5.0)
    held: dict[str, list[bool]] = {name: [] for name in truth}
    for _ in range(600):
        found = study(drawn(rng, people=3, interaction_sd=1.0), pool_above=1)
        for part in found.parts:
            held[part.name].append(part.low_nm <= truth[part.name] * MM <= part.high_nm)
    for name, hits in held.items():
        # 0.95 with an SD of 0.009; approximate limits may hold a little more often than promised.
        assert 0.92 <= statistics.fmean(hits) <= 0.99, name


def test_limits_of_one_persons_bias_hold_what_they_promise() -> None:
    rng = np.random.default_rng(43)
    held = []
    for _ in range(600):
        habits = rng.normal(0, 1.5, (1, 3, 1))
        values = drawn(rng, people=3, person_sd=0.0, interaction_sd=1.5) + np.rint(habits * MM).astype(
            np.int64
        )
        found = study(values, pool_above=1)
        true_bias = (habits[0, 0, 0] - habits.mean()) * MM
        held.append(found.people[0].low_nm <= true_bias <= found.people[0].high_nm)
    assert 0.92 <= statistics.fmean(held) <= 0.98


def test_estimates_are_right_on_average() -> None:
    rng = np.random.default_rng(44)
    studies = [study(drawn(rng, people=3, interaction_sd=1.0), pool_above=1) for _ in range(400)]
    for name, variance in (("repeatability", 4.0), ("piece", 25.0), ("reproducibility", 3.25)):
        found = [getattr(s, name).estimated_nm2 / MM**2 for s in studies]
        standard_error = statistics.stdev(found) / math.sqrt(len(found))
        assert abs(statistics.fmean(found) - variance) < 4 * standard_error, name


@given(st.integers(1, 60), st.floats(0.5, 0.999), st.floats(1.0, 1e12))
def test_limits_of_one_mean_square_are_the_exact_ones(dof: int, confidence: float, value: float) -> None:
    low, high = Sum(((1.0, MeanSquare(value, dof)),)).limits_nm2(confidence)
    tail = (1 - confidence) / 2
    assert math.isclose(low, dof * value / stats.chi2.ppf(1 - tail, dof), rel_tol=1e-6)
    assert math.isclose(high, dof * value / stats.chi2.ppf(tail, dof), rel_tol=1e-6)


@given(st.integers(1, 40), st.integers(1, 40), st.floats(0.5, 0.99))
def test_a_difference_of_mean_squares_is_bounded_away_from_zero_just_where_the_f_test_says(
    n: int, m: int, confidence: float
) -> None:
    """The one exact case of the MLS limits of a difference: the lower limit is zero where F is critical."""
    critical = float(stats.f.ppf((1 + confidence) / 2, n, m))
    limit = Sum(((1.0, MeanSquare(critical, n, "a")), (-1.0, MeanSquare(1.0, m, "b")))).limits_nm2(
        confidence
    )[0]
    assert abs(limit) < 1e-4 * critical


def test_degrees_of_freedom_of_a_sum_are_satterthwaites() -> None:
    parts = Sum(((0.5, MeanSquare(8.0, 4, "a")), (1.0, MeanSquare(3.0, 9, "b"))))
    assert parts.dof is not None
    expected = uncertainty.welch_satterthwaite([(2.0, 4), (math.sqrt(3.0), 9)])
    assert expected is not None
    assert math.isclose(parts.dof, expected, rel_tol=1e-12)
    assert Sum(((1.0, MeanSquare(1.0, 4, "a")), (-1.0, MeanSquare(2.0, 4, "b")))).dof is None


def test_a_component_below_zero_is_shown_as_it_is_and_used_as_none() -> None:
    # Two people with the same mean: the person's mean square is zero, below that of the repeats.
    values = np.array(
        [[[0, 2], [2, 0]], [[9, 5], [5, 9]], [[3, 4], [4, 3]], [[7, 7], [8, 6]], [[1, 3], [2, 2]]]
    )
    found = study(values * MM)
    assert found.person.estimated_nm2 < 0
    assert found.person.used_nm2 == found.person.sd_nm == found.person.low_nm == 0
    assert found.person.high_nm > 0
    assert found.person.dof is None
    assert "came out below zero, taken as none. It may still be" in found.person.words
    assert found.error.person_sd_nm == 0
    assert found.error.person_dof == 1


def test_people_who_disagree_about_single_pieces_are_not_pooled() -> None:
    rng = np.random.default_rng(5)
    apart = study(drawn(rng, interaction_sd=6.0, repeat_sd=0.5))
    alike = study(drawn(rng, interaction_sd=0.0), pool_above=0.0)
    assert apart.interaction is not None
    assert not apart.anova.pooled
    assert any("People disagree about single pieces" in note for note in apart.notes)
    assert alike.interaction is None
    assert alike.anova.error.dof == alike.anova.repeat.dof + alike.anova.interaction.dof
    assert any("pooled with the repeats" in note for note in alike.notes)
    assert len(alike.anova.rows) == 4
    assert len(apart.anova.rows) == 5


def test_equal_repeats_hide_behind_the_division() -> None:
    values = np.repeat(np.arange(300, 310).reshape(10, 1, 1), 4, axis=1).reshape(10, 2, 2) * MM
    found = study(values)
    assert found.repeatability.sd_nm == 0
    assert found.error.repeat_sd_nm == math.ceil(MM / math.sqrt(12))
    assert found.error.repeat_dof is None
    assert any("the resolution hides the spread" in note for note in found.notes)
    assert found.groups is None
    assert found.icc == 1
    assert found.discrimination_ratio == math.inf


def test_equal_readings_all_over_say_nothing_and_do_not_fail() -> None:
    found = study(np.full((5, 2, 2), 330 * MM))
    assert found.total.sd_nm == 0
    assert (found.icc, found.groups, found.discrimination_ratio) == (None, None, None)
    assert found.total.percent_of_total is None
    assert found.error.repeat_sd_nm > 0


def test_people_with_habits_and_no_spread_keep_their_habits() -> None:
    values = np.repeat(np.arange(300, 310).reshape(10, 1, 1), 4, axis=1).reshape(10, 2, 2) * MM
    values[:, 1, :] += 3 * MM
    found = study(values)
    assert math.isclose(found.person.sd_nm, 3 * MM / math.sqrt(2), rel_tol=1e-9)
    assert found.people[1].differs
    assert found.people[1].bias_nm == 1.5 * MM


def test_the_tolerance_is_compared_with_six_sds() -> None:
    values = drawn(np.random.default_rng(9))
    found = study(values, tolerance_nm=12 * MM)
    assert found.measuring.percent_of_tolerance is not None
    assert math.isclose(found.measuring.percent_of_tolerance, 50 * found.measuring.sd_nm / MM, rel_tol=1e-12)
    assert study(values).measuring.percent_of_tolerance is None


def test_few_groups_are_said_to_be_few() -> None:
    rng = np.random.default_rng(10)
    coarse = study(drawn(rng, piece_sd=0.1, repeat_sd=3.0))
    fine = study(drawn(rng, piece_sd=30.0, repeat_sd=1.0))
    assert coarse.groups == 1
    assert "cannot tell these pieces apart" in coarse.notes[-1]
    assert fine.groups is not None
    assert fine.groups >= 5
    assert fine.notes[-1].endswith(f"into {fine.groups} groups.")


def test_two_people_are_told_that_a_third_would_help() -> None:
    rng = np.random.default_rng(14)
    two, three = study(drawn(rng, people=2)), study(drawn(rng, people=3))
    assert any(note.startswith("Two people say little of how far people differ") for note in two.notes)
    assert f"up to {two.reproducibility.high_nm / MM:.1f} mm" in "".join(two.notes)
    assert not any("third person" in note for note in three.notes)


def test_left_out_pieces_are_told() -> None:
    readings = readings_of(drawn(np.random.default_rng(11)))
    found = analyse(readings[:-1], division_nm=MM)
    assert found.notes[0] == ("Piece 10 was left out, for 1 reading is missing: piece 10 by B in round 2.")
    assert len(found.table.pieces) == 9


def test_the_result_feeds_the_budget() -> None:
    found = study(drawn(np.random.default_rng(12), people=3))
    parts = budget.PointParts(
        each_reading=(budget.repeatability(found.error, source="study"),),
        each_person=(budget.person(found.error, source="study"),),
        placing_share=budget.placing_share(found.error),
    )
    table = parts.of_mean(readings=2)
    assert table.dof == uncertainty.mean(found.error, readings=2).dof
    assert table.k > 1.96


@settings(max_examples=30)
@given(tables)
def test_averages_and_ranges_agree_with_themselves(values: npt.NDArray[np.int64]) -> None:
    table = arrange(readings_of(values))
    parts = average_range(table)
    assert math.isclose(parts.measuring_nm, math.hypot(parts.repeatability_nm, parts.reproducibility_nm))
    moved = average_range(arrange(readings_of(values + MM)))
    assert math.isclose(moved.total_nm, parts.total_nm, rel_tol=1e-9, abs_tol=1e-3)


def test_averages_and_ranges_and_squares_tell_the_same_story() -> None:
    rng = np.random.default_rng(13)
    ratios = []
    for _ in range(100):
        readings = readings_of(drawn(rng, people=3, person_sd=0.0, rounds=3))
        ratios.append(
            average_range(arrange(readings)).repeatability_nm
            / analyse(readings, division_nm=MM, pool_above=1).repeatability.sd_nm
        )
    assert abs(statistics.fmean(ratios) - 1) < 0.02


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"division_nm": 0}, "Division of the tape"),
        ({"tolerance_nm": 0}, "Width of the tolerance"),
        ({"confidence": 1.0}, "Confidence is 1.0"),
        ({"pool_above": 1.5}, "Limit of p for pooling"),
    ],
)
def test_impossible_settings_are_refused(options: dict[str, float], words: str) -> None:
    with pytest.raises(ImpossibleInput, match=words):
        analyse(
            readings_of(drawn(np.random.default_rng(1))),
            **{"division_nm": MM, **options},  # type: ignore[arg-type]  # one wrong value at a time
        )
