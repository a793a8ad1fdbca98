"""The rule the tables of MIL-STD-105E follow, and the text of our table files made from it.

Sample sizes and quality limits (AQL) both grow by about ⁵√10 a step, so cells with the same sum of row and
column have about the same expected number of bad pieces, and the same acceptance number: the tables are
diagonals. With rows A, B, … and columns 0.010, 0.015, … counted from 0, their sum decides the cell.
A few cells at the rims depart from it; they are listed below.

The plans are those of MIL-STD-105E (10 May 1989, a work of the US government in the public domain), Tables
II-A to II-C and III-A to III-C. The normal and tightened ones equal those of ISO 2859-1:1999. The diagonals
are written from memory; every cell was compared with a public transcription of the tables.

The files in ``data`` are this module's text; a test holds them equal. To write them again::

    for name, text in table_files().items():
        Path("inventory/calc/sampling/attributes/data", name).write_text(text, encoding="utf-8")
"""

from collections.abc import Iterator

from inventory.calc.sampling.attributes.kinds import Severity
from inventory.calc.sampling.attributes.tables import DOWN, UP, USE_SINGLE

AQL_TEXTS = (
    "0.010", "0.015", "0.025", "0.040", "0.065", "0.10", "0.15", "0.25", "0.40", "0.65", "1.0", "1.5", "2.5",
    "4.0", "6.5", "10", "15", "25", "40", "65", "100", "150", "250", "400", "650", "1000",
)  # fmt: skip
LETTERS = "ABCDEFGHJKLMNPQR"
SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150)
REDUCED_SIZES = (2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800)

_FROM_F = LETTERS.index("F")  # A to E go further right: their samples are too small for the large AQLs
_SHORT_END = 24

_DIAGONALS: dict[Severity, dict[int, str]] = {
    Severity.NORMAL: {
        14: "0/1", 15: UP, 16: DOWN, 17: "1/2", 18: "2/3", 19: "3/4", 20: "5/6", 21: "7/8", 22: "10/11",
        23: "14/15", 24: "21/22", 25: "30/31", 26: "44/45",
    },
    Severity.TIGHTENED: {
        15: "0/1", 16: DOWN, 17: DOWN, 18: "1/2", 19: "2/3", 20: "3/4", 21: "5/6", 22: "8/9", 23: "12/13",
        24: "18/19", 25: "27/28", 26: "41/42",
    },
    Severity.REDUCED: {
        14: "0/1", 15: UP, 16: DOWN, 17: "0/2", 18: "1/3", 19: "1/4", 20: "2/5", 21: "3/6", 22: "5/8",
        23: "7/10", 24: "10/13", 25: "14/17", 26: "21/24",
    },
}  # fmt: skip

# Reduced rows A and B hold their own numbers where the general diagonal would ask 2 pieces for too little.
_REDUCED_A = _DIAGONALS[Severity.NORMAL]
_REDUCED_B = {
    14: "0/1", 15: UP, 16: DOWN, 17: "0/2", 18: "1/3", 19: "2/4", 20: "3/5", 21: "5/6", 22: "7/8",
    23: "10/11", 24: "14/15", 25: "21/22", 26: "30/31",
}  # fmt: skip

_RIM: dict[tuple[Severity, str, str], str] = {
    (Severity.NORMAL, "A", "10"): DOWN,  # nothing above A to go up to
    (Severity.REDUCED, "A", "10"): DOWN,
    (Severity.TIGHTENED, "A", "10"): DOWN,  # 0/1 on 2 pieces is not offered here
    (Severity.NORMAL, "R", "0.015"): UP,  # nothing below R to go down to
    (Severity.REDUCED, "R", "0.015"): UP,
    (Severity.TIGHTENED, "R", "0.015"): UP,
}

# What a double plan asks where the single plan asks Ac/Re. No double plan stands beside 0/1.
_DOUBLE: dict[Severity, dict[str, str]] = {
    Severity.NORMAL: {
        "1/2": "0/2 1/2", "2/3": "0/3 3/4", "3/4": "1/4 4/5", "5/6": "2/5 6/7", "7/8": "3/7 8/9",
        "10/11": "5/9 12/13", "14/15": "7/11 18/19", "21/22": "11/16 26/27", "30/31": "17/22 37/38",
        "44/45": "25/31 56/57",
    },
    Severity.TIGHTENED: {
        "1/2": "0/2 1/2", "2/3": "0/3 3/4", "3/4": "1/4 4/5", "5/6": "2/5 6/7", "8/9": "3/7 11/12",
        "12/13": "6/10 15/16", "18/19": "9/14 23/24", "27/28": "15/20 34/35", "41/42": "23/29 52/53",
    },
    Severity.REDUCED: {
        "0/2": "0/2 0/2", "1/3": "0/3 0/4", "1/4": "0/4 1/5", "2/5": "0/4 3/6", "3/6": "1/5 4/7",
        "5/8": "2/7 6/9", "7/10": "3/8 8/12", "10/13": "5/10 12/16", "14/17": "7/12 18/22",
        "21/24": "11/17 26/30",
    },
}  # fmt: skip
_FIRST_DOUBLE = {Severity.NORMAL: "B", Severity.TIGHTENED: "B", Severity.REDUCED: "D"}


def letters_of(severity: Severity) -> str:
    """The rows of a severity's table: A to R, and S for the one tightened plan of 3150 pieces."""
    return LETTERS + "S" if severity is Severity.TIGHTENED else LETTERS


def single_cell(severity: Severity, letter: str, aql: str) -> str:
    """The cell of the single table by the rule: ``"Ac/Re"`` or an arrow.

    >>> single_cell(Severity.NORMAL, "G", "2.5"), single_cell(Severity.NORMAL, "D", "2.5")
    ('2/3', '↑')
    """
    if letter == "S":
        return "1/2" if aql == "0.025" else UP
    if (severity, letter, aql) in _RIM:
        return _RIM[severity, letter, aql]
    row = LETTERS.index(letter)
    total = row + AQL_TEXTS.index(aql)
    diagonal = _diagonal_of(severity, letter)
    if total < min(diagonal):
        return DOWN
    last = _SHORT_END if row >= _FROM_F else max(diagonal)
    return diagonal[total] if total <= last else UP


def double_cell(severity: Severity, letter: str, aql: str) -> str:
    """The cell of the double table: ``"Ac/Re Ac/Re"``, an arrow, or ``"*"``: take the single plan.

    >>> double_cell(Severity.NORMAL, "G", "2.5"), double_cell(Severity.NORMAL, "D", "1.5")
    ('0/3 3/4', '*')
    """
    single = single_cell(severity, letter, aql)
    if single in (UP, DOWN):
        return single
    if letter < _FIRST_DOUBLE[severity]:
        return USE_SINGLE
    return _DOUBLE[severity].get(single, USE_SINGLE)


def table_files() -> dict[str, str]:
    """The text of ``single.csv`` and ``double.csv``, by file name."""
    return {"single.csv": "\n".join(_single_lines()), "double.csv": "\n".join(_double_lines())}


def _diagonal_of(severity: Severity, letter: str) -> dict[int, str]:
    if severity is Severity.REDUCED and letter in "AB":
        return _REDUCED_A if letter == "A" else _REDUCED_B
    return _DIAGONALS[severity]


def _sizes_of(severity: Severity) -> tuple[int, ...]:
    return REDUCED_SIZES if severity is Severity.REDUCED else SIZES


def _single_lines() -> Iterator[str]:
    yield "# Single sampling plans, MIL-STD-105E (10 May 1989, public domain), Tables II-A, II-B and II-C."
    yield "# Cells: accept/refuse; ↓ first plan below, ↑ first plan above, with the size of that row."
    yield ",".join(["severity", "letter", "size", *AQL_TEXTS])
    for severity in Severity:
        for letter, size in zip(letters_of(severity), _sizes_of(severity), strict=False):
            cells = [single_cell(severity, letter, aql) for aql in AQL_TEXTS]
            yield ",".join([severity, letter, str(size), *cells])
    yield ""


def _double_lines() -> Iterator[str]:
    yield "# Double sampling plans, MIL-STD-105E (10 May 1989, public domain), Tables III-A, III-B and III-C."
    yield "# Cells: first sample, then both together; * take the single plan. Size: of each of the two."
    yield ",".join(["severity", "letter", "size", *AQL_TEXTS])
    for severity in Severity:
        letters, sizes = letters_of(severity), _sizes_of(severity)
        for row, letter in enumerate(letters):
            size = str(sizes[row - 1]) if letter >= _FIRST_DOUBLE[severity] else ""
            cells = [double_cell(severity, letter, aql) for aql in AQL_TEXTS]
            yield ",".join([severity, letter, size, *cells])
    yield ""
