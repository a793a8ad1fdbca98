"""What the switching rules look at and what they answer: past batches, states, the standing of a maker."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import DoublePlan, Plan, Severity


class Rules(StrEnum):
    """Whose switching rules, by name. They differ in earning reduced inspection and in when to stop.

    ``MIL_105E`` (1989): limit numbers over ten batches; stop at five refused on tightened. ``MIL_105D``
    (1963): the same, but stop after ten batches in a row on tightened. ``ISO_1999``: the switching score, 30
    or more; stop at five refused on tightened.
    """

    MIL_105E = "MIL-STD-105E (1989)"
    MIL_105D = "MIL-STD-105D (1963)"
    ISO_1999 = "ISO 2859-1:1999"


class State(StrEnum):
    """How the next batch is to be inspected; stopped means: not by sampling until the maker has acted."""

    NORMAL = "normal"
    TIGHTENED = "tightened"
    REDUCED = "reduced"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class PastBatch:
    """One inspected batch of one maker, style and class of defects.

    ``name`` is how people know it. ``inspected`` and ``found`` count pieces and bad ones over all its
    samples. ``original`` is False for a batch that was refused before and handed in again: it never counts.
    ``steady`` and ``reduced_wanted`` are how production and the shop's wish stood after it; ``corrected``
    says that the maker acted before it, which ends a stop. Raises ImpossibleInput where counts and decision
    contradict the plan.
    """

    name: str
    day: date
    plan: Plan
    severity: Severity
    inspected: int
    found: int
    accepted: bool
    original: bool = True
    steady: bool = True
    reduced_wanted: bool = False
    corrected: bool = False

    def __post_init__(self) -> None:
        if self.found < 0 or self.inspected < 0:
            raise ImpossibleInput(
                f"count of batch {self.name}", f"{self.found} of {self.inspected}", "Give 0 or more"
            )
        if self.inspected > self.plan.most:
            raise ImpossibleInput(
                f"sample of batch {self.name}",
                f"{self.inspected} pieces, more than the {self.plan.most} of its plan",
                "Count only the pieces of the sample",
            )
        if self.accepted and self.found >= self.plan.reject:
            self._contradiction("accepted", f"its plan refuses with {self.plan.reject}")
        if not self.accepted and self.found < self._least_refused:
            self._contradiction("refused", f"its plan refuses with {self._least_refused} at least")

    @property
    def in_gap(self) -> bool:
        """Whether it was accepted with more bad pieces than the acceptance number (reduced plans)."""
        return self.accepted and self.found > self.plan.accept

    @property
    def passed_first(self) -> bool:
        """Whether a double plan accepted on its first sample."""
        return isinstance(self.plan, DoublePlan) and self.accepted and self.inspected <= self.plan.size

    @property
    def _least_refused(self) -> int:
        """The fewest bad pieces any sample of the plan refuses with."""
        return self.plan.reject_first if isinstance(self.plan, DoublePlan) else self.plan.reject

    def _contradiction(self, decided: str, because: str) -> None:
        raise ImpossibleInput(
            f"decision on batch {self.name}",
            f"{decided} with {self.found} bad, though {because}",
            "Correct the count or the decision",
        )


@dataclass(frozen=True, slots=True)
class Change:
    """A switch from one state to another after a batch, and why in words."""

    after: str
    day: date
    was: State
    now: State
    why: str


@dataclass(frozen=True, slots=True)
class Standing:
    """How the next batch is to be inspected and why.

    ``since`` names the batch after which the state began, None from the start. ``score`` is the switching
    score of the 1999 rules on normal inspection, else None. ``ahead`` says what would change the state next.
    ``left_out`` lists batches that did not count, with the reason.
    """

    state: State
    rules: Rules
    since: str | None
    why: str
    ahead: str
    score: int | None
    changes: tuple[Change, ...]
    left_out: tuple[str, ...]
