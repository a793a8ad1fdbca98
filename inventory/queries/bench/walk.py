"""The walk of the tape: every side of every point in a fixed order, the same for everyone.

All left sides in the style's order, single points among them; then all right sides. So each half is laid
down once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from inventory.calc.plan import Side
    from inventory.models import MeasurePoint
    from inventory.queries.plans import SpecPlans

SIDE_WORDS = {"L": "left", "R": "right", "S": "single"}


@dataclass(frozen=True, slots=True)
class Step:
    """One place of the walk: which point, which side, and its number from 1."""

    point: MeasurePoint
    side: Side
    number: int

    @property
    def column(self) -> tuple[str, str]:
        """Point code and side."""
        return self.point.code, self.side

    @property
    def key(self) -> str:
        """The step's name in addresses and on the page, such as `WA-L`."""
        return f"{self.point.code}-{self.side}"

    @property
    def words(self) -> str:
        """What the step is called: `half waist, left`."""
        return f"{self.point.name}, {SIDE_WORDS[self.side]}" if self.side != "S" else self.point.name


def walk_of(
    spec_plans: SpecPlans, size_label: str, *, without: frozenset[str] = frozenset()
) -> tuple[Step, ...]:
    """The steps for a size, in order, `without` the points of these codes; raises `SizeNotInSpec`."""
    plans = {code: plan for code, plan in spec_plans.for_size(size_label).items() if code not in without}
    columns: list[tuple[str, Side]] = [(code, plan.sides[0]) for code, plan in plans.items()]
    columns += [(code, "R") for code, plan in plans.items() if plan.paired]
    return tuple(
        Step(point=spec_plans.points[code], side=side, number=number)
        for number, (code, side) in enumerate(columns, start=1)
    )
