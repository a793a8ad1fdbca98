"""How the parts of a reading come together in what is judged.

New with each reading, so shrunk by repeats: repeat and division. New with each person: the person. The same
in every reading of everybody, and so doubled in a full girth and gone from a left-right difference: tape,
level and state (all were told the same level; missing it on one half alone is in the repeat part).
"""

import math
from dataclasses import dataclass, replace

from inventory.calc.budget.combine import Budget, combine
from inventory.calc.budget.component import Component
from inventory.calc.errors import ImpossibleInput
from inventory.calc.uncertainty import ReadingError, check_counts, effective_dof


@dataclass(frozen=True, slots=True)
class PointParts:
    """What is known of one reading of a point: parts new with each reading, each person, and never new.

    `placing_share` of a person's variance is new with each side too: it adds by squares and never cancels.

    Parts with other sensitivities than 1 keep them. `pair` is the spread of the true left-right difference,
    and counts only where one half stands for both.
    """

    each_reading: tuple[Component, ...]
    each_person: tuple[Component, ...] = ()
    fixed: tuple[Component, ...] = ()
    pair: Component | None = None
    placing_share: float = 0.0

    def of_mean(
        self, *, readings: int = 1, people: int = 1, probability: float = 0.95, k: float | None = None
    ) -> Budget:
        """One half or one length, the mean of `readings` readings by `people` people."""
        check_counts(readings, people=people)
        return combine(
            self._scaled(reading=1 / math.sqrt(readings), person=1 / math.sqrt(people), fixed=1.0),
            probability=probability,
            k=k,
        )

    def of_full_from_halves(
        self,
        *,
        left: int = 1,
        right: int = 1,
        people: int = 1,
        probability: float = 0.95,
        k: float | None = None,
    ) -> Budget:
        """Left half + right half, read `left` and `right` times."""
        check_counts(left, right, people=people)
        scaled = self._scaled(
            reading=math.sqrt(1 / left + 1 / right),
            person=math.sqrt((4 - 2 * self.placing_share) / people),
            fixed=2.0,
        )
        return combine(scaled, probability=probability, k=k)

    def of_full_from_one_half(
        self, *, readings: int = 1, people: int = 1, probability: float = 0.95, k: float | None = None
    ) -> Budget:
        """Twice the one half that was read; needs `pair`, for nobody looked at the other."""
        check_counts(readings, people=people)
        if self.pair is None:
            raise ImpossibleInput(
                "left-right spread", "not given", "Give one, or read the other half as well"
            )
        scaled = self._scaled(reading=2 / math.sqrt(readings), person=2 / math.sqrt(people), fixed=2.0)
        return combine([*scaled, self.pair], probability=probability, k=k)

    def of_difference(
        self, *, left: int = 1, right: int = 1, probability: float = 0.95, k: float | None = None
    ) -> Budget:
        """Left half − right half by one pair of hands and one tape: habit, tape, level and state cancel."""
        check_counts(left, right)
        scaled = self._scaled(
            reading=math.sqrt(1 / left + 1 / right), person=math.sqrt(2 * self.placing_share), fixed=0.0
        )
        return combine(scaled, probability=probability, k=k)

    def _scaled(self, *, reading: float, person: float, fixed: float) -> list[Component]:
        return [
            replace(part, sensitivity=part.sensitivity * times)
            for parts, times in (
                (self.each_reading, reading),
                (self.each_person, person),
                (self.fixed, fixed),
            )
            for part in parts
        ]


def reading_error(parts: PointParts) -> ReadingError:
    """The same parts as judging takes them: three SDs, rounded up to whole nm, and degrees of freedom.

    >>> tape, repeat = Component("tape", 300.0, "class"), Component("repeat", 400.0, "study", dof=9)
    >>> found = reading_error(PointParts(each_reading=(repeat,), fixed=(tape,)))
    >>> found.repeat_sd_nm, found.person_sd_nm, found.fixed_sd_nm, found.repeat_dof
    (400, 0, 300, 9)
    """
    person_nm = _sd(parts.each_person)
    return ReadingError(
        repeat_sd_nm=_sd(parts.each_reading),
        person_sd_nm=person_nm,
        placing_sd_nm=min(person_nm, math.ceil(person_nm * math.sqrt(parts.placing_share) - 1e-6)),
        fixed_sd_nm=_sd(parts.fixed),
        repeat_dof=_dof(parts.each_reading),
        person_dof=_dof(parts.each_person),
    )


def _sd(components: tuple[Component, ...]) -> int:
    # A millionth of a nanometre is the noise of floats: 400.00000001 is 400.
    return math.ceil(math.hypot(*(part.contribution_nm for part in components)) - 1e-6)


def _dof(components: tuple[Component, ...]) -> int | None:
    return effective_dof((part.contribution_nm, part.dof) for part in components)
