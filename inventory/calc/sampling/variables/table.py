"""Plans of MIL-STD-414 (1957, US public domain) for an unknown spread: one sample, standard deviation method.

The data file ``mil_std_414.csv`` holds k (Table B-1) and M (Table B-3) as printed, from memory; each M gives
its k by the beta function to the printed digits in all 195 cells. Letters by batch size are Table A-2, from
memory too and without such a proof. Where a letter has no plan for an AQL the next letter's is taken, with
its own number of readings. Tightened inspection takes the plan of the next smaller AQL. Reduced plans and
plans for a known spread are not tabled here: for those ask `plan_by_risk`.
"""

import csv
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from importlib.resources import files

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.variables.shares import VariablesPlan

LETTER_SIZES = dict(
    zip("BCDEFGHIJKLMNOPQ", (3, 4, 5, 7, 10, 15, 20, 25, 30, 35, 40, 50, 75, 100, 150, 200), strict=True)
)
"""Readings to take by code letter."""

AQLS = tuple(
    Decimal(figure)
    for figure in "0.04 0.065 0.10 0.15 0.25 0.40 0.65 1.0 1.5 2.5 4.0 6.5 10 15".split()  # noqa: SIM905
)
"""Quality levels with a plan, in per cent out of tolerance, smallest first."""

LETTERS_BY_BATCH = (
    (2, "     "),
    (8, "BBBBC"),
    (15, "BBBBD"),
    (25, "BBBCE"),
    (40, "BBBDF"),
    (65, "BBCEG"),
    (110, "BBDFH"),
    (180, "BCEGI"),
    (300, "BDFHJ"),
    (500, "CEGIK"),
    (800, "DFHJL"),
    (1_300, "EGIKL"),
    (3_200, "FHJLM"),
    (8_000, "GILMN"),
    (22_000, "HJMNO"),
    (110_000, "IKNOP"),
    (550_000, "IKOPQ"),
)
"""Table A-2: the largest batch of each row, and its letters for levels I to V."""


class Level(StrEnum):
    """How much is measured for the size of the batch; IV unless agreed otherwise."""

    I = "I"  # noqa: E741 - the standard's own name
    II = "II"
    III = "III"
    IV = "IV"
    V = "V"


class Severity(StrEnum):
    """How strictly."""

    NORMAL = "normal"
    TIGHTENED = "tightened"


@dataclass(frozen=True, slots=True)
class _Cell:
    k: float
    m: float


@cache
def _cells() -> dict[tuple[int, Decimal], _Cell]:
    source = files("inventory.calc.sampling.variables").joinpath("mil_std_414.csv")
    lines = [line for line in source.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return {
        (int(row["n"]), Decimal(row["aql_percent"])): _Cell(
            float(row["k"]), float(Decimal(row["m_percent"]) / 100)
        )
        for row in csv.DictReader(lines)
    }


def letter_for(batch_size: int, *, level: Level = Level.IV) -> str:
    """Code letter of a batch size.

    >>> letter_for(80), letter_for(80, level=Level.III)
    ('F', 'D')
    """
    smallest, largest = LETTERS_BY_BATCH[0][0] + 1, LETTERS_BY_BATCH[-1][0]
    if not smallest <= batch_size <= largest:
        raise ImpossibleInput(
            "batch size",
            batch_size,
            f"The table is for {smallest} to {largest:,} pieces. Measure every piece",
        )
    letters = next(letters for last, letters in LETTERS_BY_BATCH if batch_size <= last)
    return letters[list(Level).index(level)]


def plan_of_letter(letter: str, aql: Decimal, *, severity: Severity = Severity.NORMAL) -> VariablesPlan:
    """The plan of a code letter and an AQL (per cent); ``Decimal("1.0")`` and ``Decimal("1")`` are the same.

    >>> plan_of_letter("D", Decimal("1.0"))
    VariablesPlan(n=5, k=1.53, m=0.0332, spread=<Spread.SAMPLE: 's'>)
    """
    if letter not in LETTER_SIZES:
        raise ImpossibleInput("code letter", letter, "Give a letter from B to Q")
    if aql not in AQLS:
        raise ImpossibleInput("AQL", f"{aql} %", f"Give one of {', '.join(map(str, AQLS))}")
    place = AQLS.index(aql) - (severity is Severity.TIGHTENED)
    if place < 0:
        raise ImpossibleInput("AQL", f"{aql} % tightened, below the table", f"Give at least {AQLS[1]} %")
    cells = _cells()
    sizes = [size for first, size in LETTER_SIZES.items() if first >= letter and (size, AQLS[place]) in cells]
    cell = cells[sizes[0], AQLS[place]]
    return VariablesPlan(sizes[0], cell.k, cell.m)


def plan_for(
    batch_size: int, aql: Decimal, *, level: Level = Level.IV, severity: Severity = Severity.NORMAL
) -> VariablesPlan:
    """The plan for a batch; a plan that takes the whole batch is refused, for then each piece is judged.

    >>> plan_for(80, Decimal("2.5")).n
    10
    """
    plan = plan_of_letter(letter_for(batch_size, level=level), aql, severity=severity)
    if plan.n >= batch_size:
        raise ImpossibleInput(
            "sample of this plan", f"{plan.n}, of a batch of {batch_size}", "Measure every piece instead"
        )
    return plan
