"""The words of sampling by attributes: levels, severities, editions, and what a plan is.

A plan says how many pieces to draw and how many bad ones decide. ``accept`` is the most that still pass,
``reject`` the fewest that refuse the batch. Between the two there is a gap in the reduced plans of
MIL-STD-105E only: such a batch is accepted, and normal inspection returns with the next one.
"""

from dataclasses import dataclass
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput


class Level(StrEnum):
    """Inspection level: how much is drawn from a batch of a given size. II is usual, S-1 the least."""

    S1 = "S-1"
    S2 = "S-2"
    S3 = "S-3"
    S4 = "S-4"
    I = "I"  # noqa: E741 - the standard's own name
    II = "II"
    III = "III"


class Severity(StrEnum):
    """How strict the plans are, as the maker's last batches have earned it."""

    NORMAL = "normal"
    TIGHTENED = "tightened"
    REDUCED = "reduced"


class Edition(StrEnum):
    """Whose tables. Normal and tightened plans are the same in both; the reduced ones are not.

    The reduced plans of ISO 2859-1:1999 are not supplied, nor its optional fractional acceptance numbers.
    """

    MIL_105E = "MIL-STD-105E"
    ISO_1999 = "ISO 2859-1:1999"


class DefectClass(StrEnum):
    """How much a defect matters: critical could hurt or breaks the law, major fails in use, minor is sold."""

    CRITICAL = "critical"
    MAJOR = "major"
    MINOR = "minor"


@dataclass(frozen=True, slots=True)
class SinglePlan:
    """Draw ``size`` pieces once: accept with at most ``accept`` bad, refuse with at least ``reject``.

    ``letter`` is the row of the tables it comes from; empty for a plan made by risk. Raises ImpossibleInput
    for a sample of nothing or numbers that leave no decision.
    """

    size: int
    accept: int
    reject: int
    letter: str = ""

    def __post_init__(self) -> None:
        _check_size(self.size)
        _check_numbers("acceptance numbers", self.accept, self.reject)

    @property
    def most(self) -> int:
        """The most pieces it can ask for."""
        return self.size

    def __str__(self) -> str:
        return f"{self.size} pieces, accept with {self.accept}, refuse with {self.reject}"


@dataclass(frozen=True, slots=True)
class DoublePlan:
    """Draw ``size`` pieces; if they do not decide, draw ``size`` more and judge both samples together.

    First sample: accept with at most ``accept_first`` bad, refuse with at least ``reject_first``. Both
    together: ``accept`` and ``reject``. Raises ImpossibleInput as SinglePlan does.
    """

    size: int
    accept_first: int
    reject_first: int
    accept: int
    reject: int
    letter: str = ""

    def __post_init__(self) -> None:
        _check_size(self.size)
        _check_numbers("numbers of the first sample", self.accept_first, self.reject_first)
        _check_numbers("numbers of both samples", self.accept, self.reject)
        if self.accept < self.accept_first or self.reject < self.reject_first:
            raise ImpossibleInput(
                "numbers of both samples",
                f"{self.accept} and {self.reject}, below the {self.accept_first} and {self.reject_first} "
                "of the first",
                "Both together allow at least as many bad as the first alone",
            )

    @property
    def most(self) -> int:
        """The most pieces it can ask for: both samples."""
        return 2 * self.size

    def __str__(self) -> str:
        return (
            f"{self.size} pieces, accept with {self.accept_first}, refuse with {self.reject_first}; between, "
            f"{self.size} more, then accept with {self.accept}, refuse with {self.reject}"
        )


Plan = SinglePlan | DoublePlan


def _check_size(size: int) -> None:
    if size < 1:
        raise ImpossibleInput("sample size", size, "Draw at least 1 piece")


def _check_numbers(thing: str, accept: int, reject: int) -> None:
    if accept < 0 or reject <= accept:
        raise ImpossibleInput(
            thing, f"{accept} and {reject}", "Accept with 0 or more bad pieces, refuse with more than that"
        )
