"""What was seen of a batch, and how often a call on one piece is wrong."""

import math
from dataclasses import dataclass
from decimal import Decimal

from inventory.calc.errors import ImpossibleInput

MOST_PIECES = 100_000
"""Far above any delivery to a small shop; a larger figure is a slip of the keyboard."""


@dataclass(frozen=True, slots=True)
class ReadingRates:
    """Chances per piece of a wrong call: a good piece called bad, a bad piece called good.

    ``shared``: how much of the square of the uncertainty all pieces have in common (same hands, same tape; 0
    to 1). Then wrong calls come in heaps: the same habit errs on every piece that lies near a limit.
    """

    false_bad: float = 0.0
    false_good: float = 0.0
    shared: float = 0.0

    def __post_init__(self) -> None:
        for thing, rate in (
            ("chance that a good piece is called bad", self.false_bad),
            ("chance that a bad piece is called good", self.false_good),
        ):
            if not 0 <= rate <= 1:
                raise ImpossibleInput(thing, f"{rate:g}", "Give a share from 0 to 1")
        if not 0 <= self.shared <= 1:
            raise ImpossibleInput(
                "share of the error that all pieces have in common",
                f"{self.shared:g}",
                "Give a share from 0 to 1",
            )
        if self.false_bad + self.false_good >= 1:
            raise ImpossibleInput(
                "sum of the two chances of a wrong call",
                f"{self.false_bad + self.false_good:g}, no better than guessing",
                "Measure better before drawing conclusions",
            )

    @property
    def never_wrong(self) -> bool:
        """Whether every call is right."""
        return not (self.false_bad or self.false_good)


NEVER_WRONG = ReadingRates()
"""Every call is right: only for defects that nobody disputes."""


@dataclass(frozen=True, slots=True)
class Sample:
    """Pieces in the batch, pieces inspected, and how many of those were called bad.

    ``chances``: the lowest and the highest chance of any piece to be drawn, for a draw that was spread (see
    `draw.chances_of`); None where every piece had the same.
    """

    batch_size: int
    inspected: int
    bad: int
    rates: ReadingRates = NEVER_WRONG
    chances: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.batch_size <= MOST_PIECES:
            raise ImpossibleInput("batch size", self.batch_size, f"Give 1 to {MOST_PIECES:,} pieces")
        if not 0 <= self.inspected <= self.batch_size:
            raise ImpossibleInput(
                "number of pieces inspected",
                f"{self.inspected}, of a batch of {self.batch_size}",
                "Give at most as many as there are in the batch",
            )
        if not 0 <= self.bad <= self.inspected:
            raise ImpossibleInput(
                "number of bad pieces",
                f"{self.bad}, of {self.inspected} inspected",
                "Give at most as many as were inspected",
            )
        if self.chances is not None and not 0 <= self.chances[0] <= self.chances[1] <= 1:
            raise ImpossibleInput(
                "chances of a piece to be drawn",
                " and ".join(f"{chance:g}" for chance in self.chances),
                "Give the lowest, then the highest, from 0 to 1",
            )

    @property
    def left(self) -> int:
        """Pieces not inspected."""
        return self.batch_size - self.inspected


def most_allowed(batch_size: int, share: Decimal) -> int:
    """Whole pieces that an agreed share of bad ones allows in this batch, rounded down.

    >>> most_allowed(80, Decimal("0.025"))
    2
    """
    if not 0 <= share <= 1:
        raise ImpossibleInput("agreed share of bad pieces", f"{share}", "Give a share from 0 to 1")
    if batch_size < 1:
        raise ImpossibleInput("batch size", batch_size, "Give at least 1 piece")
    return math.floor(batch_size * share)
