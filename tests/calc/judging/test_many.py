"""Many pieces through arrays: the same answers, piece for piece, as one at a time."""

from collections import Counter
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Rule, Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.judging import (
    NO_VERDICT_CODE,
    Aspect,
    PointPlan,
    ReadBy,
    Taken,
    judge_many,
    judge_piece,
    verdict_of,
)
from inventory.calc.plan import columns_of
from inventory.calc.symmetry import PairLimit
from tests.calc.plans import MM, half, length, plan_lists, rule_pairs, small_lengths

by_default = partial(judge_many, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
deviations = small_lengths.flatmap(lambda off: st.sampled_from((-off, off)))

Cell = Taken | None


@st.composite
def cells(draw: st.DrawFn, plan: PointPlan, *, single_readings: bool, known: bool) -> Cell:
    """What was taken at one side: nothing, or a mean near the nominal; with who took it if ``known``."""
    if draw(st.integers(0, 5)) == 0:
        return None
    readings = 1 if single_readings else draw(st.integers(1, 5))
    mean_nm = plan.nominal_nm + draw(deviations)
    if not known:
        return Taken(mean_nm, readings, draw(st.integers(1, readings)))
    hands = Counter(draw(st.lists(st.integers(1, 3), min_size=readings, max_size=readings)))
    return Taken(mean_nm, readings, len(hands), tuple(sorted(hands.items())))


def read_by(plans: list[PointPlan], rows: list[list[Cell]]) -> ReadBy:
    """The two sums over people that stand for `Taken.by`."""
    columns = columns_of(plans)
    squares = [[sum(n * n for _, n in cell.by) if cell else -7 for cell in row] for row in rows]
    shared = {}
    for plan in plans:
        if plan.paired:
            left, right = columns.index((plan.code, "L")), columns.index((plan.code, "R"))
            shared[plan.code] = np.array([_together(row[left], row[right]) for row in rows], np.int64)
    return ReadBy(np.array(squares, np.int64).reshape(len(rows), len(columns)), shared)


def _together(left: Cell, right: Cell) -> int:
    if left is None or right is None:
        return 1
    return sum(count * dict(right.by).get(person, 0) for person, count in left.by)


@given(
    plans=plan_lists(),
    data=st.data(),
    rules=rule_pairs(),
    single_readings=st.booleans(),
    known=st.booleans(),
    one_half_will_do=st.sets(st.sampled_from(("P0", "P1", "P2"))),
)
def test_arrays_give_exactly_the_findings_of_the_plain_road(
    *,
    plans: list[PointPlan],
    data: st.DataObject,
    rules: tuple[Rule, Rule],
    single_readings: bool,
    known: bool,
    one_half_will_do: set[str],
) -> None:
    shelf, claim = rules
    columns = columns_of(plans)
    by_code = {plan.code: plan for plan in plans}
    rows = [
        [data.draw(cells(by_code[code], single_readings=single_readings, known=known)) for code, _ in columns]
        for _ in range(data.draw(st.integers(0, 4)))
    ]
    shape = (len(rows), len(columns))
    rubbish = np.iinfo(np.int64).max
    means = np.array([[c.mean_nm if c else rubbish for c in row] for row in rows], np.int64).reshape(shape)
    present = np.array([[c is not None for c in row] for row in rows], np.bool_).reshape(shape)
    counts = np.array([[c.readings if c else -7 for c in row] for row in rows], np.int64).reshape(shape)
    people = np.array([[c.people if c else -7 for c in row] for row in rows], np.int64).reshape(shape)
    judged = judge_many(
        plans,
        means,
        present,
        shelf=shelf,
        claim=claim,
        readings=1 if single_readings else counts,
        people=1 if single_readings else people,
        by=read_by(plans, rows) if known else None,
        one_half_will_do=one_half_will_do,
    )
    assert judged.columns == columns
    for number, row in enumerate(rows):
        taken = {column: cell for column, cell in zip(columns, row, strict=True) if cell is not None}
        expected = judge_piece(plans, taken, shelf=shelf, claim=claim, one_half_will_do=one_half_will_do)
        assert judged.piece(number) == expected


def _one_of_each_plan() -> list[PointPlan]:
    """Every way a point is judged, with a habit in each reading and favourable sides either way."""
    roomy = PairLimit(3 * MM, favourable_limit_nm=5 * MM, favourable_side="plus")
    snug = replace(roomy, favourable_side="minus")
    return [
        half("HH", pair_limit=roomy, person_sd_nm=MM),
        half("HF", basis="full", tolerance_nm=8 * MM, pair_limit=snug, person_sd_nm=MM),
        half("HN", person_sd_nm=MM // 2),
        half("SH", paired=False, person_sd_nm=MM),
        half("SF", paired=False, basis="full", person_sd_nm=MM),
        length("LP", paired=True, pair_limit=PairLimit(2 * MM), minus_nm=2 * MM, plus_nm=0, person_sd_nm=MM),
    ]


def test_a_dense_table_gives_exactly_the_findings_of_the_plain_road() -> None:
    """Values in half millimetres, so that limits, nominals and equal deviations are hit all the time."""
    rng = np.random.default_rng(2024)
    plans = _one_of_each_plan()
    columns = columns_of(plans)
    nominal = {plan.code: plan.nominal_nm for plan in plans}
    shape = (500, len(columns))
    steps = rng.integers(-14, 15, shape) // rng.integers(1, 8, (500, 1))
    means = np.array([nominal[code] for code, _ in columns]) + steps * (MM // 2)
    present = rng.random(shape) < 0.93
    readings = rng.integers(1, 6, shape)
    people = np.minimum(readings, rng.integers(1, 4, shape))
    will_do = {"HF", "LP"}
    judged = judge_many(
        plans,
        means,
        present,
        shelf=DEFAULT_SHELF,
        claim=DEFAULT_CLAIM,
        readings=readings,
        people=people,
        one_half_will_do=will_do,
    )
    for row in range(len(means)):
        taken: dict[tuple[str, str], Taken] = {
            column: Taken(int(means[row, at]), int(readings[row, at]), int(people[row, at]))
            for at, column in enumerate(columns)
            if present[row, at]
        }
        assert judged.piece(row) == judge_piece(
            plans, taken, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM, one_half_will_do=will_do
        )
    assert {verdict_of(code) for code in judged.shelf.tolist()} == {None, *Verdict}


def test_codes_and_the_worst_point_of_each_piece_can_be_read_from_the_arrays() -> None:
    plans = [half(pair_limit=PairLimit(6 * MM)), length()]
    means = np.array([[330, 330, 320], [330, 345, 320], [330, 330, 324], [330, 0, 320]], np.int64) * MM
    means[2, 2] += 100_000
    present = np.array([[True] * 3, [True] * 3, [True] * 3, [True, False, True]])
    judged = by_default(plans, means, present)
    assert judged.shelf.tolist() == [0, 2, 0, NO_VERDICT_CODE]
    assert [verdict_of(code) for code in judged.claim.tolist()] == ["in", "out", "close", None]
    assert judged.complete.tolist() == [True, True, True, False]
    names = list(judged.findings)
    assert names[judged.worst[1]] == ("WA", Aspect.RIGHT)
    assert names[judged.worst[2]] == ("CF", Aspect.SINGLE)
    full = judged.findings["WA", Aspect.FULL]
    assert full.from_one_half.tolist() == [False, False, False, True]
    assert full.deciding.tolist() == [True, True, True, False]
    assert judged.findings["WA", Aspect.PAIR].shelf.tolist() == [0, 2, 0, NO_VERDICT_CODE]


def test_no_pieces_are_judged_as_no_pieces() -> None:
    judged = by_default([half()], np.empty((0, 2), np.int64), np.empty((0, 2), np.bool_))
    assert judged.shelf.tolist() == []


GOOD = np.full((2, 1), 320 * MM)
ALL = np.ones((2, 1), np.bool_)


@pytest.mark.parametrize(
    ("means", "present", "counts", "words"),
    [
        (GOOD[:, 0], ALL, 1, r"Table of means is of shape \(2,\)"),
        (np.hstack([GOOD, GOOD]), ALL, 1, r"Table of means is of shape \(2, 2\)"),
        (GOOD, ALL[:1], 1, r"Table of cells present is of shape \(1, 1\)"),
        (GOOD * 1.0, ALL, 1, "Table of means is of type float64"),
        (GOOD, ALL.astype(int), 1, "Table of cells present is of type int64"),
        (GOOD, ALL, np.ones(2, np.int64), r"Table of readings counts is of shape \(2,\)"),
        (GOOD, ALL, 0, "below one"),
        (GOOD, ALL, np.zeros((2, 1), np.int64), "below one"),
    ],
)
def test_a_table_that_does_not_fit_is_refused(
    means: object, present: object, counts: object, words: str
) -> None:
    with pytest.raises(ImpossibleInput, match=words):
        by_default([length()], means, present, readings=counts)  # type: ignore[arg-type]  # on purpose


def test_more_people_than_readings_are_refused_in_arrays_too() -> None:
    with pytest.raises(ImpossibleInput, match="more people than readings"):
        by_default([length()], GOOD, ALL, people=2)
