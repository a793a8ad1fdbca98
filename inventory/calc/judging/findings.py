"""What was taken from a piece, and what was found: plain frozen values.

A finding keeps all it was judged on (value, limits, uncertainty, guard bands, number of readings), so a
verdict can be derived again years later.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.calc.conformity import Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.plan import Aspect
from inventory.calc.uncertainty import Hands


@dataclass(frozen=True, slots=True)
class Taken:
    """The readings of one side of one point: their mean (nm), how many, by how many people.

    ``by`` names who took how many of them; empty where that is not known, and each is taken to have read
    equally many, and the same people both halves.
    """

    mean_nm: int
    readings: int = 1
    people: int = 1
    by: tuple[tuple[int, int], ...] = ()

    def __post_init__(self) -> None:
        if self.readings < 1:
            raise ImpossibleInput("number of readings", self.readings, "Take at least one reading")
        if not 1 <= self.people <= self.readings:
            raise ImpossibleInput(
                "number of people",
                f"{self.people} for {self.readings} readings",
                "Give at least one person, and no more than there are readings",
            )
        if self.by and (len(self.by) != self.people or sum(count for _, count in self.by) != self.readings):
            raise ImpossibleInput(
                "list of who read", f"{self.by}", f"Name {self.people} people with {self.readings} readings"
            )

    @property
    def alone(self) -> float | None:
        """The sum of the squared shares of the people; None where only their number is known."""
        return sum(count * count for _, count in self.by) / self.readings**2 if self.by else None

    def with_other(self, other: "Taken") -> Hands | None:
        """Whose hands read this half and the other; None where it is not known of both."""
        if self.alone is None or other.alone is None:
            return None
        counts = dict(other.by)
        both = sum(count * counts.get(person, 0) for person, count in self.by)
        return Hands(self.alone, other.alone, both / (self.readings * other.readings))


@dataclass(frozen=True, slots=True)
class Finding:
    """One aspect of one point, judged by the shelf rule and by the claim rule (lengths in nm).

    ``nominal_nm`` of a left-right difference is 0. ``u_nm`` is rounded up. ``beyond_nm`` is how far the
    value lies outside its limits. ``by_final_rule`` is the shelf verdict's: a claim never ends plainly.
    Only ``deciding`` findings count for the piece; ``from_one_half`` marks a full girth taken as twice
    the only half read, which is shown and never decides.
    """

    aspect: Aspect
    value_nm: int
    nominal_nm: int
    lower_nm: int
    upper_nm: int
    u_nm: int
    readings: int
    shelf: Verdict
    shelf_guard_nm: int
    claim: Verdict
    claim_guard_nm: int
    beyond_nm: int
    by_final_rule: bool
    deciding: bool
    from_one_half: bool = False

    @property
    def expanded_nm(self) -> int:
        """Expanded uncertainty U = 2·u (nm), as printed: it covers about 95 % of a bell curve."""
        return 2 * self.u_nm

    @property
    def deviation_nm(self) -> int:
        """How far (nm) the value lies from its nominal, above or below."""
        return self.value_nm - self.nominal_nm


@dataclass(frozen=True, slots=True)
class PieceJudgement:
    """A whole piece: the worst deciding finding decides.

    ``shelf`` and ``claim`` are None until every side of every point is read. The worst point is the one
    with the worst shelf verdict and, among those, the one that uses most of its tolerance; it is named
    as soon as anything is judged.
    """

    shelf: Verdict | None
    claim: Verdict | None
    worst_code: str | None
    worst_aspect: Aspect | None
    complete: bool
    missing: tuple[tuple[str, str], ...]
    findings: Mapping[str, tuple[Finding, ...]]
