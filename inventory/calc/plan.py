"""What is asked of one point of one size: nominal, tolerance, what the tolerance is stated for, and how
well the point can be read.

A half girth may carry its tolerance per half or for the full girth. Mixing the two up doubles or halves
the limit, so the basis is part of the plan. Nominals are as read: per half for halves. Side codes are as
worn: L and R for a paired point, S for a single one.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from inventory.calc.conformity import Limits
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, show_exact
from inventory.calc.symmetry import PairLimit
from inventory.calc.uncertainty import ReadingError

Kind = Literal["half", "full", "length", "placement"]
Basis = Literal["half", "full"]
Side = Literal["L", "R", "S"]


class Aspect(StrEnum):
    """What is judged at a point: a side as read, the full girth, or left against right."""

    LEFT = "L"
    RIGHT = "R"
    SINGLE = "S"
    FULL = "F"
    PAIR = "D"


@dataclass(frozen=True, slots=True)
class PointPlan:
    """One point of measure of one size (lengths in nm; ``minus_nm`` and ``plus_nm`` are not negative).

    ``basis`` says what minus and plus are stated for; it matters for halves only. Raises ImpossibleInput
    for a negative tolerance, a nominal that is not above zero, or a left-right limit on a single point.
    """

    code: str
    kind: Kind
    paired: bool
    nominal_nm: int
    minus_nm: int
    plus_nm: int
    basis: Basis
    pair_limit: PairLimit | None
    error: ReadingError

    def __post_init__(self) -> None:
        if self.nominal_nm <= 0:
            raise ImpossibleInput(
                f"nominal of {self.code}",
                show_exact(self.nominal_nm, unit=Unit.MM),
                "Give a length above zero",
            )
        if self.minus_nm < 0 or self.plus_nm < 0:
            raise ImpossibleInput(
                f"tolerance of {self.code}",
                " and ".join(show_exact(part_nm, unit=Unit.MM) for part_nm in (self.minus_nm, self.plus_nm)),
                "Give both without a sign: minus 6 mm, plus 6 mm",
            )
        if self.pair_limit is not None and not self.paired:
            raise ImpossibleInput(
                f"left-right limit of {self.code}", "set on a single point", "Remove it, or make it paired"
            )

    @property
    def sides(self) -> tuple[Side, ...]:
        """The sides to be read: left and right, or single."""
        return ("L", "R") if self.paired else ("S",)

    @property
    def is_half(self) -> bool:
        """Whether the figure is half a girth, so that there is a full girth to speak of."""
        return self.kind == "half"

    @property
    def judged_as_full(self) -> bool:
        """Whether the full girth decides and the halves are only shown: tolerance stated for the full."""
        return self.is_half and self.basis == "full"

    @property
    def full_decides(self) -> bool:
        """Whether the full girth counts for the verdict; of a single half it only says the same again."""
        return self.is_half and (self.paired or self.basis == "full")

    @property
    def limits(self) -> Limits:
        """Limits (nm) of one side as read. Of a tolerance stated for the full girth each half gets half,
        rounded down to whole nanometres; those are shown, they do not decide."""
        share = 2 if self.judged_as_full else 1
        return Limits(self.nominal_nm - self.minus_nm // share, self.nominal_nm + self.plus_nm // share)

    @property
    def full_nominal_nm(self) -> int:
        """Nominal (nm) of the full girth of a half: twice the half."""
        return 2 * self.nominal_nm

    @property
    def full_limits(self) -> Limits:
        """Limits (nm) of the full girth of a half: the full tolerance, or twice the half tolerance."""
        share = 1 if self.basis == "full" else 2
        return Limits(
            self.full_nominal_nm - share * self.minus_nm, self.full_nominal_nm + share * self.plus_nm
        )

    @property
    def unseen_pair_limit_nm(self) -> int:
        """How far (nm) an unread half is taken to be from the one that was read.

        The left-right limit where there is one, else the half's own larger tolerance.
        """
        if self.pair_limit is not None:
            return self.pair_limit.limit_nm
        half = self.limits
        return max(self.nominal_nm - half.lower_nm, half.upper_nm - self.nominal_nm)


def columns_of(plans: Sequence[PointPlan]) -> tuple[tuple[str, str], ...]:
    """The (code, side) pairs to be read, in plan order; refuses a point that is there twice.

    >>> from inventory.calc.uncertainty import ReadingError
    >>> waist = PointPlan("WA", "half", True, 330_000_000, 6_000_000, 6_000_000, "half", None,
    ...                   ReadingError(1_000_000, 0))
    >>> columns_of([waist])
    (('WA', 'L'), ('WA', 'R'))
    """
    codes = [plan.code for plan in plans]
    for code in codes:
        if codes.count(code) > 1:
            raise ImpossibleInput("plan", f"a list with point {code} in it twice", "Keep one of them")
    return tuple((plan.code, side) for plan in plans for side in plan.sides)
