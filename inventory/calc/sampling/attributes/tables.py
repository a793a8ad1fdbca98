"""The tables as read from the files of this package, and how their arrows are followed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes.kinds import DoublePlan, Level, Severity, SinglePlan

UP, DOWN, USE_SINGLE = "↑", "↓", "*"


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a plan table: a letter, its sample size (None where it has no plan) and a cell per AQL."""

    letter: str
    size: int | None
    cells: Mapping[Decimal, str]


@cache
def code_letters() -> tuple[tuple[int, Mapping[Level, str]], ...]:
    """Table I: the smallest batch size of each row and its letter by level."""
    return tuple(
        (int(line["from"]), {level: line[level.value] for level in Level})
        for line in _lines_of("code_letters.csv")
    )


@cache
def single_rows(severity: Severity) -> tuple[Row, ...]:
    """The single sampling table of a severity, top to bottom."""
    return _rows_of("single.csv", severity)


@cache
def double_rows(severity: Severity) -> tuple[Row, ...]:
    """The double sampling table of a severity, top to bottom."""
    return _rows_of("double.csv", severity)


@cache
def aqls() -> tuple[Decimal, ...]:
    """The quality limits of the tables, smallest first, in percent or in defects per 100 pieces."""
    return tuple(single_rows(Severity.NORMAL)[0].cells)


def checked_aql(aql: Decimal) -> Decimal:
    """The limit if the tables have it; ImpossibleInput with its neighbours if not."""
    if aql in aqls():
        return aql
    near = [str(one) for one in aqls() if one < aql][-1:] + [str(one) for one in aqls() if one > aql][:1]
    raise ImpossibleInput(
        "quality limit (AQL)", f"{aql}, which the tables do not have", f"Take {' or '.join(near)}"
    )


def single_at(severity: Severity, letter: str, aql: Decimal) -> SinglePlan:
    """The single plan a letter and AQL lead to, arrows followed: size and numbers are those of the new row.

    >>> single_at(Severity.NORMAL, "D", Decimal("2.5"))
    SinglePlan(size=5, accept=0, reject=1, letter='C')
    """
    row = follow(single_rows(severity), letter, checked_aql(aql))
    accept, reject = _pair(row.cells[aql])
    return SinglePlan(_size_of(row), accept, reject, row.letter)


def double_at(severity: Severity, letter: str, aql: Decimal) -> DoublePlan | None:
    """The double plan a letter and AQL lead to, arrows followed; None where the table says: single.

    >>> double_at(Severity.NORMAL, "D", Decimal("6.5"))
    DoublePlan(size=5, accept_first=0, reject_first=2, accept=1, reject=2, letter='D')
    """
    row = follow(double_rows(severity), letter, checked_aql(aql))
    if row.cells[aql] == USE_SINGLE:
        return None
    first, both = (_pair(text) for text in row.cells[aql].split())
    return DoublePlan(_size_of(row), *first, *both, row.letter)


def follow(rows: tuple[Row, ...], letter: str, aql: Decimal) -> Row:
    """The row that holds a plan: the letter's own, or the one its arrows lead to.

    Raises ImpossibleInput for a letter the table has not, and for arrows that lead out of the table.
    """
    at = next((index for index, row in enumerate(rows) if row.letter == letter), None)
    if at is None:
        known = f"{rows[0].letter} to {rows[-1].letter}, without I and O"
        raise ImpossibleInput("code letter", f'"{letter}"', f"Take one of {known}")
    step = {DOWN: 1, UP: -1}.get(rows[at].cells[aql], 0)
    while 0 <= at < len(rows) and rows[at].cells[aql] in (UP, DOWN):
        at += step
    if not 0 <= at < len(rows):
        raise ImpossibleInput(
            f"plan of letter {letter} at AQL {aql}",
            "none: its arrows lead out of the table",
            "Choose another AQL or level, or a plan by risk",
        )
    return rows[at]


def _rows_of(name: str, severity: Severity) -> tuple[Row, ...]:
    return tuple(
        Row(
            line["letter"],
            int(line["size"]) if line["size"] else None,
            {
                Decimal(head): cell
                for head, cell in line.items()
                if head not in ("severity", "letter", "size")
            },
        )
        for line in _lines_of(name)
        if line["severity"] == severity
    )


def _lines_of(name: str) -> Iterator[dict[str, str]]:
    text = files("inventory.calc.sampling.attributes").joinpath("data", name).read_text(encoding="utf-8")
    lines = [line.split(",") for line in text.splitlines() if line and not line.startswith("#")]
    for line in lines[1:]:
        yield dict(zip(lines[0], line, strict=True))


def _pair(text: str) -> tuple[int, int]:
    accept, reject = text.split("/")
    return int(accept), int(reject)


def _size_of(row: Row) -> int:
    assert row.size is not None, f"row {row.letter} holds a plan without a size"
    return row.size
