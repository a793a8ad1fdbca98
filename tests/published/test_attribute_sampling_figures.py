"""Published figures of sampling by attributes, each with its source beside it.

"(from memory)" marks a figure recalled, not read, when this was written; that it comes out to all printed
digits is strong evidence for both. Some sources cut instead of rounding, or are off in the last digit; where
that is so it is said, and the check is one unit of the last digit wide.
"""

from decimal import Decimal

import pytest

from inventory.calc.sampling.attributes import (
    DoublePlan,
    Level,
    Severity,
    SinglePlan,
    aqls,
    choose_plan,
    code_letter,
)
from inventory.calc.sampling.attributes.tables import code_letters, double_at, single_at
from inventory.calc.sampling.curves import (
    Model,
    passing_chance,
    quality_at,
    series_points,
    worst_outgoing,
)
from inventory.calc.sampling.switching import limit_number
from tests.closeness import to_printed_digits

NORMAL, TIGHTENED, REDUCED = Severity
LEVELS = tuple(Level)


def rows(text: str) -> list[list[str]]:
    return [line.split() for line in text.strip().splitlines()]


# MIL-STD-105E (1989), Table I: letters at S-1, S-2, S-3, S-4, I, II, III. Complete: 15 rows, 105 cells.
TABLE_I = """
2 A A A A A A B
9 A A A A A B C
16 A A B B B C D
26 A B B C C D E
51 B B C C C E F
91 B B C D D F G
151 B C D E E G H
281 B C D E F H J
501 C C E F G J K
1201 C D E G H K L
3201 C D F G J L M
10001 C D F H K M N
35001 D E G J L N P
150001 D E G J M P Q
500001 D E H K N Q R
"""


@pytest.mark.parametrize("row", rows(TABLE_I), ids=lambda row: row[0])
def test_code_letters_of_table_i(row: list[str]) -> None:
    smallest = int(row[0])
    starts = [start for start, _ in code_letters()]
    largest = next((start for start in starts if start > smallest), 1_000_001) - 1
    for size in (smallest, largest):
        assert [code_letter(size, level) for level in LEVELS] == row[1:]


# MIL-STD-105E (1989), Table II-A, the columns most used: n, then Ac at AQL 1.0 to 6.5; v and ^ are arrows.
TABLE_II_A = """
A 2 v v v v 0
B 3 v v v 0 ^
C 5 v v 0 ^ v
D 8 v 0 ^ v 1
E 13 0 ^ v 1 2
F 20 ^ v 1 2 3
G 32 v 1 2 3 5
H 50 1 2 3 5 7
J 80 2 3 5 7 10
K 125 3 5 7 10 14
L 200 5 7 10 14 21
M 315 7 10 14 21 ^
N 500 10 14 21 ^ ^
P 800 14 21 ^ ^ ^
"""
SIZES = {row[0]: int(row[1]) for row in rows(TABLE_II_A)}


@pytest.mark.parametrize("row", rows(TABLE_II_A), ids=lambda row: row[0])
def test_single_normal_plans_of_table_ii_a(row: list[str]) -> None:
    letters = list(SIZES)
    for aql, cell in zip(("1.0", "1.5", "2.5", "4.0", "6.5"), row[2:], strict=True):
        plan = single_at(NORMAL, row[0], Decimal(aql))
        if cell == "v":
            assert letters.index(plan.letter) > letters.index(row[0])
        elif cell == "^":
            assert letters.index(plan.letter) < letters.index(row[0])
        else:
            assert plan == SinglePlan(int(row[1]), int(cell), int(cell) + 1, row[0])
        assert plan.size == SIZES[plan.letter]


# MIL-STD-105E (1989), Tables II-B and II-C: letter, AQL, then n, Ac and Re with the arrows followed.
TABLE_II_B = """
E 1.5 13 0 1
F 2.5 32 1 2
G 2.5 32 1 2
H 2.5 50 2 3
J 2.5 80 3 4
K 2.5 125 5 6
L 2.5 200 8 9
M 2.5 315 12 13
N 2.5 500 18 19
J 1.0 80 1 2
J 4.0 80 5 6
A 1000 2 27 28
B 1000 3 41 42
R 0.025 3150 1 2
"""
TABLE_II_C = """
A 40 2 2 3
B 40 2 2 4
C 40 2 2 5
D 40 3 3 6
E 40 5 5 8
F 40 8 7 10
G 40 13 10 13
G 65 8 10 13
J 2.5 32 2 5
K 2.5 50 3 6
L 2.5 80 5 8
C 650 2 21 24
B 1000 2 30 31
"""


@pytest.mark.parametrize(
    ("severity", "row"),
    [(TIGHTENED, row) for row in rows(TABLE_II_B)] + [(REDUCED, row) for row in rows(TABLE_II_C)],
)
def test_single_tightened_and_reduced_plans(severity: Severity, row: list[str]) -> None:
    plan = single_at(severity, row[0], Decimal(row[1]))
    assert [plan.size, plan.accept, plan.reject] == [int(number) for number in row[2:]]


# MIL-STD-105E (1989), Tables III-A, III-B, III-C: the sequences of double plans, read down one letter.
@pytest.mark.parametrize(
    ("severity", "letter", "size", "sequence"),
    [
        (NORMAL, "J", 50, "1.0 0 3 3 4; 1.5 1 4 4 5; 2.5 2 5 6 7; 4.0 3 7 8 9; 6.5 5 9 12 13; 10 7 11 18 19"),
        (
            TIGHTENED,
            "J",
            50,
            "1.0 0 2 1 2; 1.5 0 3 3 4; 2.5 1 4 4 5; 4.0 2 5 6 7; 6.5 3 7 11 12; 10 6 10 15 16",
        ),
        (REDUCED, "J", 20, "1.0 0 3 0 4; 1.5 0 4 1 5; 2.5 0 4 3 6; 4.0 1 5 4 7; 6.5 2 7 6 9; 10 3 8 8 12"),
    ],
)
def test_double_plans_of_letter_j(severity: Severity, letter: str, size: int, sequence: str) -> None:
    for entry in sequence.split(";"):
        aql, *numbers = entry.split()
        first, first_reject, both, both_reject = (int(number) for number in numbers)
        plan = DoublePlan(size, first, first_reject, both, both_reject, letter)
        assert double_at(severity, letter, Decimal(aql)) == plan


def test_worked_examples_of_a_public_vignette() -> None:
    """AQLSchemes vignette: level II, batch 3201-10000, AQL 1.5, normal: 200 7 8; double 125 3 7 / 125 8 9."""
    assert choose_plan(5_000, Decimal("1.5")).plan == SinglePlan(200, 7, 8, "L")
    assert choose_plan(5_000, Decimal("1.5"), double=True).plan == DoublePlan(125, 3, 7, 8, 9, "L")


def test_a_double_plan_quoted_from_the_australian_edition() -> None:
    """AS 1199.1-2003 (= ISO 2859-1:1999), letter E, AQL 4.0: 8 and 8, Ac 0 and 1, Re 2 and 2."""
    assert double_at(NORMAL, "E", Decimal("4.0")) == DoublePlan(8, 0, 2, 1, 2, "E")


# Cameron 1952 / Grubbs (from memory): np (Poisson) at a chance of 0.95 or 0.10, by acceptance number.
@pytest.mark.parametrize(
    ("accept", "passing", "printed"),
    [
        (0, 0.10, "2.303"), (1, 0.95, "0.355"), (1, 0.10, "3.890"), (2, 0.10, "5.322"), (3, 0.10, "6.681"),
        (4, 0.95, "1.970"), (4, 0.10, "7.994"), (5, 0.95, "2.613"), (5, 0.10, "9.275"), (6, 0.10, "10.532"),
        (7, 0.95, "3.981"), (7, 0.10, "11.771"), (8, 0.10, "12.995"), (9, 0.10, "14.206"),
        (10, 0.10, "15.407"),
    ],
)  # fmt: skip
def test_poisson_np_values(accept: int, passing: float, printed: str) -> None:
    share = quality_at(SinglePlan(100, accept, accept + 1), passing, model=Model.DEFECTS)
    assert to_printed_digits(100 * share, printed)


# The same table (from memory); these two are off by one in the last digit there, or in the recollection.
@pytest.mark.parametrize(("accept", "printed"), [(6, "3.286"), (9, "5.426")])
def test_poisson_np_values_off_by_one_in_the_last_digit(accept: int, printed: str) -> None:
    share = quality_at(SinglePlan(100, accept, accept + 1), 0.95, model=Model.DEFECTS)
    assert abs(100 * share - float(printed)) <= 0.001


# Dodge-Romig AOQL factor y (from memory), used in MIL-STD-105E Table V: the largest x P(Poisson(x) <= c).
@pytest.mark.parametrize(
    ("accept", "printed"),
    [
        (0, "0.3679"),
        (1, "0.8400"),
        (3, "1.942"),
        (4, "2.544"),
        (6, "3.812"),
        (7, "4.472"),
        (8, "5.146"),
        (9, "5.831"),
    ],
)
def test_aoql_factors(accept: int, printed: str) -> None:
    worst = worst_outgoing(SinglePlan(1_000, accept, accept + 1), model=Model.DEFECTS)
    assert to_printed_digits(1_000 * worst.outgoing, printed)


# NIST e-Handbook 6.2.3.2, n = 52, c = 3, binomial (from memory); its last digits slip, so to 0.001 only.
@pytest.mark.parametrize(
    ("share", "printed"),
    [
        (0.01, 0.998), (0.02, 0.980), (0.03, 0.930), (0.04, 0.845), (0.06, 0.620), (0.08, 0.394),
        (0.09, 0.300), (0.10, 0.223), (0.11, 0.162), (0.12, 0.115),
    ],
)  # fmt: skip
def test_nist_chances_of_acceptance(share: float, printed: float) -> None:
    assert abs(series_points(SinglePlan(52, 3, 4), [share])[0].passing - printed) <= 0.001


# NIST e-Handbook 6.2.3.2, AOQ (from memory): the printed values are Pa p, without (N − n)/N.
@pytest.mark.parametrize(
    ("share", "printed"),
    [(0.01, 0.0100), (0.03, 0.0278), (0.06, 0.0372), (0.07, 0.0351), (0.08, 0.0315), (0.11, 0.0178)],
)
def test_nist_outgoing_quality(share: float, printed: float) -> None:
    assert abs(series_points(SinglePlan(52, 3, 4), [share])[0].outgoing - printed) <= 0.001


# NIST e-Handbook 6.2.3.2, ATI with N = 10 000 (from memory); printed figures are cut or rounded to pieces.
@pytest.mark.parametrize(
    ("share", "printed"),
    [
        (0.01, 70), (0.02, 253), (0.05, 2655), (0.06, 3836), (0.08, 6083), (0.10, 7779), (0.11, 8388),
        (0.12, 8854), (0.13, 9201),
    ],
)  # fmt: skip
def test_nist_total_inspection(share: float, printed: int) -> None:
    inspected = series_points(SinglePlan(52, 3, 4), [share], batch_size=10_000)[0].inspected
    assert inspected is not None
    assert printed in (int(inspected), round(inspected))


def test_nist_double_plan() -> None:
    """NIST e-Handbook 6.2.4: n1 = n2 = 108, c1 = 2, c2 = 4 at p = 0.01; 0.9619 derived, no printed figure."""
    plan = DoublePlan(108, 2, 5, 4, 5)
    assert to_printed_digits(series_points(plan, [0.01])[0].passing, "0.9619")


def test_other_printed_chances() -> None:
    """AcceptanceSampling manual 3.1: n = 20, c = 0 at p = 0.05, binomial: 0.35848592."""
    assert to_printed_digits(series_points(SinglePlan(20, 0, 1), [0.05])[0].passing, "0.35848592")


@pytest.mark.parametrize(("passing", "printed"), [(0.95, "0.01213"), (0.05, "0.089704")])
def test_qualities_printed_in_a_public_forum(passing: float, printed: str) -> None:
    """samplingplans.com forum, 2006-02-07: n = 68, c = 2, binomial."""
    assert to_printed_digits(quality_at(SinglePlan(68, 2, 3), passing), printed)


def test_the_curve_of_a_federal_plan() -> None:
    """7 CFR 42.140(c), curve 6, n = 500, Ac = 3, Poisson: 26 % at 1.0 per 100 (cut), about 99 % at 0.10."""
    poor, good = (
        point.passing for point in series_points(SinglePlan(500, 3, 4), [0.01, 0.001], model=Model.DEFECTS)
    )
    assert int(100 * poor) == 26
    assert int(100 * good) == 99


# MIL-STD-105E Table X-J-1 (from memory), letter J, n = 80: percent bad at a chance of acceptance, binomial.
@pytest.mark.parametrize(
    ("accept", "passing", "printed"),
    [
        (0, 0.95, "0.0641"), (0, 0.90, "0.132"), (0, 0.50, "0.863"), (0, 0.10, "2.84"), (0, 0.05, "3.68"),
        (1, 0.95, "0.446"), (1, 0.90, "0.667"), (1, 0.50, "2.09"), (1, 0.10, "4.78"), (2, 0.95, "1.03"),
        (2, 0.10, "6.52"), (3, 0.95, "1.73"), (3, 0.10, "8.16"), (5, 0.95, "3.32"), (5, 0.10, "11.3"),
    ],
)  # fmt: skip
def test_operating_points_of_letter_j(accept: int, passing: float, printed: str) -> None:
    assert to_printed_digits(100 * quality_at(SinglePlan(80, accept, accept + 1), passing), printed)


# Batches of our usual sizes, level II at AQL 2.5: percent that pass, computed earlier by another program.
@pytest.mark.parametrize(
    ("batch_size", "bad", "percent"),
    [
        (12, 1, 58), (12, 2, 32), (12, 4, 7), (30, 2, 69), (30, 3, 57), (30, 6, 30), (30, 9, 14),
        (60, 3, 74), (60, 6, 34), (60, 12, 4), (120, 6, 74), (120, 12, 37), (120, 24, 5),
    ],
)  # fmt: skip
def test_small_batches_pass_far_too_often(batch_size: int, bad: int, percent: int) -> None:
    plan = choose_plan(batch_size, Decimal("2.5")).plan
    assert round(100 * passing_chance(plan, batch_size=batch_size, bad=bad)) == percent


# MIL-STD-105E Table VIII, limit numbers for reduced inspection (from memory): least pieces of the row, first
# AQL with a figure, then the figures to the right.
TABLE_VIII = """
20 10 0 0 2 4 8 14 22 40 68 115 181
30 6.5 0 0 1 3 7 13 22 36 63 105 177
50 4.0 0 0 2 3 7 14 25 40 63 110 181 301
80 2.5 0 0 2 4 7 14 24 42 68 105 181 297
1250 0.15 0 0 2 4 7 13 24 40 69 110 169
31500 0.010 0 1 4 8 14 24 38 67 111 186
"""


@pytest.mark.parametrize("row", rows(TABLE_VIII), ids=lambda row: row[0])
def test_limit_numbers_for_reduced_inspection(row: list[str]) -> None:
    least, first, *figures = row
    columns = [str(aql) for aql in aqls()]
    at = columns.index(first)
    if at:
        assert limit_number(int(least), Decimal(columns[at - 1])) is None
    for aql, figure in zip(columns[at:], figures, strict=False):
        assert limit_number(int(least), Decimal(aql)) == int(figure), aql


def test_the_one_recalled_limit_number_that_the_rule_does_not_give() -> None:
    """Table VIII, 130 to 199 pieces (from memory): 7 recalled at AQL 10, the rule gives 8; the rest agree."""
    recalled = [0, 0, 2, 4, 7, 13, 25, 42, 72, 115, 177, 301, 490]
    columns = [aql for aql in aqls() if Decimal("1.5") <= aql <= 400]
    made = [limit_number(130, aql) for aql in columns]
    assert len(recalled) == len(columns)
    pairs = zip(columns, made, recalled, strict=True)
    apart = [(aql, limit) for aql, limit, figure in pairs if limit != figure]
    assert apart == [(Decimal(10), 8)]
