"""The tables of attribute plans: the files hold what the rule says, quoted cells, arrows and refusals."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import (
    DoublePlan,
    Edition,
    Level,
    Severity,
    SinglePlan,
    aqls,
    choose_plan,
    code_letter,
    next_tighter,
)
from inventory.calc.sampling.attributes.rule import AQL_TEXTS, LETTERS, SIZES, table_files
from inventory.calc.sampling.attributes.tables import (
    DOWN,
    UP,
    Row,
    code_letters,
    double_at,
    follow,
    single_at,
    single_rows,
)

NORMAL, TIGHTENED, REDUCED = Severity.NORMAL, Severity.TIGHTENED, Severity.REDUCED
LIMITS = st.sampled_from(aqls())
SEVERITIES = st.sampled_from(Severity)
BATCHES = st.integers(2, 600_000)
LEVELS = st.sampled_from(Level)


@pytest.mark.parametrize("name", sorted(table_files()))
def test_the_table_file_is_what_the_rule_makes(name: str) -> None:
    stored = files("inventory.calc.sampling.attributes").joinpath("data", name).read_text(encoding="utf-8")
    assert stored == table_files()[name]


def test_every_cell_is_there() -> None:
    assert aqls() == tuple(Decimal(text) for text in AQL_TEXTS)
    assert len(aqls()) == 26
    assert {severity: len(single_rows(severity)) for severity in Severity} == {
        NORMAL: 16,
        TIGHTENED: 17,
        REDUCED: 16,
    }
    assert all(len(row.cells) == 26 for severity in Severity for row in single_rows(severity))
    assert len(code_letters()) == 15


def test_no_arrow_leads_out_of_the_tables_from_any_letter() -> None:
    for severity in Severity:
        for letter in LETTERS:
            for aql in aqls():
                assert single_at(severity, letter, aql).size > 0
                double_at(severity, letter, aql)


@given(SEVERITIES, LIMITS, st.sampled_from(range(15)))
def test_a_later_letter_never_draws_less(severity: Severity, aql: Decimal, at: int) -> None:
    here, after = (single_at(severity, LETTERS[index], aql) for index in (at, at + 1))
    assert here.size <= after.size


@given(SEVERITIES, LIMITS, st.sampled_from(LETTERS))
def test_where_an_arrow_is_followed_the_new_row_gives_the_size(
    severity: Severity, aql: Decimal, letter: str
) -> None:
    plan = single_at(severity, letter, aql)
    row = next(row for row in single_rows(severity) if row.letter == plan.letter)
    assert plan.size == row.size
    assert row.cells[aql] == f"{plan.accept}/{plan.reject}"


@given(SEVERITIES, LIMITS, st.sampled_from(LETTERS))
def test_a_double_plan_stands_only_where_the_single_one_accepts_some(
    severity: Severity, aql: Decimal, letter: str
) -> None:
    single, double = single_at(severity, letter, aql), double_at(severity, letter, aql)
    if double is not None:
        assert double.letter == single.letter
        assert (single.accept, single.reject) != (0, 1)
        assert double.size <= single.size <= double.most


@given(LIMITS, st.sampled_from(LETTERS))
def test_tightened_inspection_accepts_no_larger_share_than_normal(aql: Decimal, letter: str) -> None:
    normal, tightened = single_at(NORMAL, letter, aql), single_at(TIGHTENED, letter, aql)
    if normal.size == tightened.size:
        assert tightened.accept <= normal.accept
    else:
        assert tightened.accept / tightened.size <= normal.accept / normal.size or tightened.accept == 1


def test_letters_at_the_edges_of_the_batch_sizes() -> None:
    assert [code_letter(size) for size in (2, 8, 9, 15, 16, 25, 26, 50, 51, 90)] == list("AABBCCDDEE")
    assert code_letter(500_000, Level.III) == "Q"
    assert code_letter(500_001, Level.III) == "R"
    assert code_letter(500_001, Level.S1) == "D"


@given(BATCHES, LEVELS)
def test_a_larger_batch_never_has_an_earlier_letter(size: int, level: Level) -> None:
    assert code_letter(size, level) <= code_letter(size + 1, level)


def test_a_batch_of_one_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match=r"Batch size is 1\. Sampling starts at 2 pieces"):
        code_letter(1)


@given(size=BATCHES, aql=LIMITS, level=LEVELS, severity=SEVERITIES, double=st.booleans())
def test_no_plan_asks_for_more_pieces_than_the_batch_has(
    *, size: int, aql: Decimal, level: Level, severity: Severity, double: bool
) -> None:
    choice = choose_plan(size, aql, level=level, severity=severity, double=double)
    assert choice.plan.most <= size
    assert choice.inspect_all == (choice.plan.most == size)


@pytest.mark.parametrize(
    ("size", "aql", "plan", "said"),
    [
        (30, "2.5", SinglePlan(5, 0, 1, "C"), "Letter D has no plan at AQL 2.5; the arrow leads to letter C"),
        (60, "2.5", SinglePlan(20, 1, 2, "F"), "the arrow leads to letter F, and its sample of 20 is drawn."),
        (
            4,
            "0.65",
            SinglePlan(4, 0, 1, "F"),
            "The sample of 20 is not smaller than the batch: inspect all 4.",
        ),
    ],
)
def test_what_was_done_to_find_the_plan_is_said(size: int, aql: str, plan: SinglePlan, said: str) -> None:
    choice = choose_plan(size, Decimal(aql))
    assert choice.plan == plan
    assert said in " ".join(choice.notes)


def test_a_sample_exactly_as_large_as_the_batch_is_every_piece() -> None:
    assert choose_plan(5, Decimal("2.5")).inspect_all
    assert not choose_plan(6, Decimal("2.5")).inspect_all


def test_a_double_plan_is_given_where_there_is_one_and_said_where_there_is_none() -> None:
    assert choose_plan(120, Decimal("2.5"), double=True).plan == DoublePlan(13, 0, 2, 1, 2, "F")
    without = choose_plan(30, Decimal("2.5"), double=True)
    assert without.plan == SinglePlan(5, 0, 1, "C")
    assert "no double plan here" in " ".join(without.notes)


def test_a_double_plan_that_could_ask_for_the_whole_batch_gives_way_to_the_single_one() -> None:
    choice = choose_plan(9, Decimal("6.5"), level=Level.III, double=True)
    assert choice.plan == SinglePlan(8, 1, 2, "D")
    assert "Both samples of the double plan (10 pieces)" in " ".join(choice.notes)


def test_reduced_plans_of_the_newer_edition_are_refused_and_not_imitated() -> None:
    with pytest.raises(ImpossibleInput, match=r"of ISO 2859-1:1999, whose reduced table differs"):
        choose_plan(500, Decimal("1.0"), severity=REDUCED, edition=Edition.ISO_1999)
    older = choose_plan(500, Decimal("1.0"), severity=REDUCED)
    assert older.plan == SinglePlan(20, 0, 2, "H")
    assert "Reduced plans are those of MIL-STD-105E; ISO 2859-1:1999 has others." in older.notes


def test_the_gap_of_a_reduced_plan_is_said() -> None:
    notes = choose_plan(500, Decimal("4.0"), severity=REDUCED).notes
    assert any("the batch is accepted, and normal inspection returns" in note for note in notes)


def test_a_limit_above_10_counts_defects() -> None:
    assert not choose_plan(500, Decimal(10)).counts_defects
    choice = choose_plan(500, Decimal(15))
    assert choice.counts_defects
    assert "every defect found counts" in " ".join(choice.notes)


def test_a_limit_the_tables_have_not_is_refused_with_its_neighbours() -> None:
    with pytest.raises(ImpossibleInput, match=r"Quality limit \(AQL\) is 2, which .* Take 1\.5 or 2\.5\."):
        choose_plan(80, Decimal(2))
    with pytest.raises(ImpossibleInput, match=r"Take 0\.010\."):
        choose_plan(80, Decimal("0.001"))
    assert choose_plan(80, Decimal("2.50")).plan == choose_plan(80, Decimal("2.5")).plan


def test_a_letter_the_tables_have_not_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match=r'Code letter is "I"\. Take one of A to R, without I and O'):
        single_at(NORMAL, "I", Decimal("2.5"))
    with pytest.raises(ImpossibleInput, match='Code letter is "S"'):
        single_at(NORMAL, "S", Decimal("0.025"))
    assert single_at(TIGHTENED, "S", Decimal("0.025")) == SinglePlan(3150, 1, 2, "S")


@pytest.mark.parametrize("arrow", [UP, DOWN])
def test_an_arrow_out_of_a_table_is_said(arrow: str) -> None:
    cells: Mapping[Decimal, str] = {Decimal(1): arrow}
    table = (Row("A", 2, cells), Row("B", 3, cells))
    with pytest.raises(ImpossibleInput, match="Plan of letter A at AQL 1 is none: its arrows lead out"):
        follow(table, "A", Decimal(1))


def test_one_limit_tighter_is_looked_up_in_the_row_the_sample_came_from() -> None:
    plan = single_at(NORMAL, "J", Decimal("2.5"))
    assert plan == SinglePlan(80, 5, 6, "J")
    assert next_tighter(plan, Decimal("2.5")) == SinglePlan(80, 3, 4, "J")
    assert next_tighter(replace(plan, letter="Q"), Decimal("0.010")) is None


@given(LIMITS, st.sampled_from(LETTERS))
def test_one_limit_tighter_uses_the_same_sample_wherever_the_score_asks_for_it(
    aql: Decimal, letter: str
) -> None:
    plan = single_at(NORMAL, letter, aql)
    if plan.accept >= 2:
        tighter = next_tighter(plan, aql)
        assert tighter is not None
        assert tighter.size == plan.size
        assert tighter.accept < plan.accept


# A modest set of cells: MIL-STD-105E (1989), Tables II-A, II-B, II-C, III-A, III-B, III-C, quoted.
@pytest.mark.parametrize(
    ("severity", "letter", "aql", "cell"),
    [
        (NORMAL, "A", "6.5", (2, 0, 1)),
        (NORMAL, "E", "1.0", (13, 0, 1)),
        (NORMAL, "G", "1.5", (32, 1, 2)),
        (NORMAL, "J", "4.0", (80, 7, 8)),
        (NORMAL, "K", "0.65", (125, 2, 3)),
        (NORMAL, "L", "1.5", (200, 7, 8)),
        (NORMAL, "M", "2.5", (315, 14, 15)),
        (NORMAL, "E", "250", (13, 44, 45)),
        (NORMAL, "R", "0.015", (800, 0, 1)),
        (TIGHTENED, "B", "6.5", (3, 0, 1)),
        (TIGHTENED, "F", "2.5", (32, 1, 2)),
        (TIGHTENED, "J", "4.0", (80, 5, 6)),
        (TIGHTENED, "J", "6.5", (80, 8, 9)),
        (TIGHTENED, "R", "0.025", (3150, 1, 2)),
        (TIGHTENED, "G", "40", (32, 18, 19)),
        (REDUCED, "F", "1.5", (13, 0, 2)),
        (REDUCED, "J", "1.5", (32, 1, 4)),
        (REDUCED, "K", "4.0", (50, 5, 8)),
        (REDUCED, "B", "40", (2, 2, 4)),
        (REDUCED, "D", "400", (3, 21, 24)),
    ],
)
def test_quoted_single_cells(severity: Severity, letter: str, aql: str, cell: tuple[int, int, int]) -> None:
    plan = single_at(severity, letter, Decimal(aql))
    assert (plan.size, plan.accept, plan.reject) == cell


@pytest.mark.parametrize(
    ("severity", "letter", "aql", "cell"),
    [
        (NORMAL, "E", "4.0", (8, 0, 2, 1, 2)),
        (NORMAL, "J", "2.5", (50, 2, 5, 6, 7)),
        (NORMAL, "L", "1.5", (125, 3, 7, 8, 9)),
        (NORMAL, "L", "100", (8, 11, 16, 26, 27)),
        (TIGHTENED, "J", "6.5", (50, 3, 7, 11, 12)),
        (TIGHTENED, "R", "0.025", (2000, 0, 2, 1, 2)),
        (REDUCED, "J", "2.5", (20, 0, 4, 3, 6)),
        (REDUCED, "E", "2.5", (5, 0, 2, 0, 2)),
    ],
)
def test_quoted_double_cells(
    severity: Severity, letter: str, aql: str, cell: tuple[int, int, int, int, int]
) -> None:
    plan = double_at(severity, letter, Decimal(aql))
    assert plan is not None
    assert (plan.size, plan.accept_first, plan.reject_first, plan.accept, plan.reject) == cell


def test_sample_sizes_grow_by_the_fifth_root_of_ten() -> None:
    for index, size in enumerate(SIZES[3:-1]):
        assert abs(size / (8 * 10 ** (index / 5)) - 1) < 0.05


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: SinglePlan(0, 0, 1), "Sample size is 0"),
        (lambda: SinglePlan(5, -1, 1), "Acceptance numbers is -1 and 1"),
        (lambda: SinglePlan(5, 1, 1), "Acceptance numbers is 1 and 1"),
        (lambda: DoublePlan(0, 0, 1, 1, 2), "Sample size is 0"),
        (lambda: DoublePlan(5, 2, 2, 3, 4), "Numbers of the first sample is 2 and 2"),
        (
            lambda: DoublePlan(5, 0, 3, 1, 2),
            "Numbers of both samples is 1 and 2, below the 0 and 3 of the first",
        ),
    ],
)
def test_a_plan_that_decides_nothing_is_refused(make: object, said: str) -> None:
    assert callable(make)
    with pytest.raises(ImpossibleInput, match=said):
        make()
