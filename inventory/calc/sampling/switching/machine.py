"""The switching rules themselves: past batches in, the severity of the next one out, with the reason.

Sources: MIL-STD-105E (1989), 4.7 and 4.8, read in a public copy; the stop after ten batches of MIL-STD-105D
and the switching score of ISO 2859-1:1999 from memory. Where a copy leaves room, this is how it is read:

- Only batches on original inspection count. One that was inspected at another severity than was due does not
  count either, unless it was refused although the plan was laxer than due; on reduced inspection any counts.
- Two refused "of five or fewer": both among the last five batches since normal inspection began.
- Limit numbers need ten accepted batches in a row on normal; when their pieces are too few for the table,
  the batches before them are taken in too.
- The score asks whether the batch would pass one AQL tighter. If inspection of the sample stopped early, it
  counts only when no rest could have changed that.
- A shop that no longer wants reduced inspection returns to normal.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import DoublePlan, Severity, next_tighter
from inventory.calc.sampling.attributes.tables import checked_aql
from inventory.calc.sampling.switching.kinds import Change, PastBatch, Rules, Standing, State
from inventory.calc.sampling.switching.limit_numbers import limit_number
from inventory.calc.sampling.switching.wording import (
    BEGINNING,
    look_ahead,
    say_accepted_again,
    say_reduced,
    say_refused_twice,
    say_stop,
)

WINDOW = 5
"""Two refused among so many batches tighten; so many accepted in a row on tightened bring normal back."""

EARNED_BY = 10
"""So many accepted batches in a row, at least, earn reduced inspection by the limit numbers."""

SCORE_NEEDED = 30
REFUSED_TO_STOP = 5
TIGHTENED_TO_STOP = 10

_STRICTNESS = (State.REDUCED, State.NORMAL, State.TIGHTENED)


def standing(history: Sequence[PastBatch], *, aql: Decimal, rules: Rules = Rules.MIL_105E) -> Standing:
    """How the next batch of this maker, style and class of defects is to be inspected, and why.

    ``history`` in the order of inspection, oldest first; ``aql`` is the class's quality limit. Raises
    ImpossibleInput for batches out of order and an AQL the tables have not.

    >>> standing([], aql=Decimal("2.5")).state
    <State.NORMAL: 'normal'>
    """
    checked_aql(aql)
    machine = _Machine(rules, aql)
    for before, batch in zip([None, *history], history, strict=False):
        if before is not None and batch.day < before.day:
            raise ImpossibleInput(
                "order of the batches",
                f"{before.name} of {before.day.isoformat()} before {batch.name} of {batch.day.isoformat()}",
                "Give them in the order they were inspected",
            )
        machine.take(batch)
    return machine.standing()


@dataclass(slots=True)
class _Machine:
    """The state while walking through a history; ``here`` holds the batches that count since it began."""

    rules: Rules
    aql: Decimal
    state: State = State.NORMAL
    here: list[PastBatch] = field(default_factory=list)
    score: int = 0
    changes: list[Change] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)

    def take(self, batch: PastBatch) -> None:
        if self.state is State.STOPPED and batch.corrected and batch.original:
            self._go(State.TIGHTENED, batch, f"The maker acted before batch {batch.name}.")
        reason = self._why_left_out(batch)
        if reason:
            self.left_out.append(f"Batch {batch.name} does not count: {reason}.")
            return
        self.here.append(batch)
        {
            State.NORMAL: self._on_normal,
            State.TIGHTENED: self._on_tightened,
            State.REDUCED: self._on_reduced,
        }[self.state](batch)

    def standing(self) -> Standing:
        last = self.changes[-1] if self.changes else None
        on_normal = self.state is State.NORMAL
        return Standing(
            state=self.state,
            rules=self.rules,
            since=last.after if last else None,
            why=last.why if last else BEGINNING,
            ahead=look_ahead(self.rules, self.state, self.here, self.score),
            score=self.score if on_normal and self.rules is Rules.ISO_1999 else None,
            changes=tuple(self.changes),
            left_out=tuple(self.left_out),
        )

    def _why_left_out(self, batch: PastBatch) -> str:
        if not batch.original:
            return "it had been refused before and was handed in again"
        if self.state is State.STOPPED:
            return "inspection by sampling had been stopped"
        used = State(batch.severity.value)
        laxer = _STRICTNESS.index(used) < _STRICTNESS.index(self.state)
        if used is self.state or self.state is State.REDUCED or (laxer and not batch.accepted):
            return ""
        return f"it was inspected {used} where {self.state} was due"

    def _go(self, now: State, batch: PastBatch, why: str) -> None:
        self.changes.append(Change(batch.name, batch.day, self.state, now, why))
        self.state, self.here, self.score = now, [], 0

    def _on_normal(self, batch: PastBatch) -> None:
        self.score = _next_score(self.score, batch, self.aql)
        refused = [one for one in self.here[-WINDOW:] if not one.accepted]
        if len(refused) >= 2:
            self._go(State.TIGHTENED, batch, say_refused_twice(self.here[-WINDOW:]))
        elif batch.steady and batch.reduced_wanted:
            why = self._earned()
            if why:
                self._go(State.REDUCED, batch, why)

    def _earned(self) -> str:
        """Why reduced inspection is earned; empty if it is not."""
        if self.rules is Rules.ISO_1999:
            return f"The switching score reached {self.score}, {SCORE_NEEDED} are needed." * (
                self.score >= SCORE_NEEDED
            )
        row = _accepted_at_the_end(self.here)
        for taken in range(EARNED_BY, len(row) + 1):
            pieces = sum(one.inspected for one in row[-taken:])
            found = sum(one.found for one in row[-taken:])
            limit = limit_number(pieces, self.aql)
            if limit is not None:
                return say_reduced(row[-taken:], found, pieces, limit) if found <= limit else ""
        return ""

    def _on_tightened(self, batch: PastBatch) -> None:
        refused = [one for one in self.here if not one.accepted]
        row = _accepted_at_the_end(self.here)
        if len(row) >= WINDOW:
            self._go(State.NORMAL, batch, say_accepted_again(row))
        elif self.rules is Rules.MIL_105D:
            if len(self.here) >= TIGHTENED_TO_STOP:
                self._go(State.STOPPED, batch, say_stop(self.here, "were inspected tightened in a row"))
        elif len(refused) >= REFUSED_TO_STOP:
            self._go(State.STOPPED, batch, say_stop(refused, "were refused on tightened inspection"))

    def _on_reduced(self, batch: PastBatch) -> None:
        reasons = [
            (not batch.accepted, f"Batch {batch.name} was refused on reduced inspection."),
            (
                batch.in_gap,
                f"Batch {batch.name} had {batch.found} bad, more than the {batch.plan.accept} of its plan.",
            ),
            (not batch.steady, f"Production was irregular at batch {batch.name}."),
            (not batch.reduced_wanted, f"Reduced inspection was no longer wanted at batch {batch.name}."),
        ]
        why = next((words for holds, words in reasons if holds), "")
        if why:
            self._go(State.NORMAL, batch, why)


def _accepted_at_the_end(batches: Sequence[PastBatch]) -> list[PastBatch]:
    """The accepted batches in a row that end the list."""
    row: list[PastBatch] = []
    for one in reversed(batches):
        if not one.accepted:
            break
        row.insert(0, one)
    return row


def _next_score(score: int, batch: PastBatch, aql: Decimal) -> int:
    """The switching score of ISO 2859-1:1999 after one more batch on normal inspection."""
    if isinstance(batch.plan, DoublePlan):
        return score + 3 if batch.passed_first else 0
    if batch.plan.accept <= 1:
        return score + 2 if batch.accepted else 0
    tighter = next_tighter(batch.plan, aql)
    unseen = batch.plan.size - batch.inspected
    passes = tighter is None or batch.found + unseen <= tighter.accept
    return score + 3 if batch.accepted and passes else 0


def next_severity(now: Standing) -> Severity:
    """The severity of the next plan; refuses with ImpossibleInput where sampling has stopped."""
    if now.state is State.STOPPED:
        raise ImpossibleInput(
            "inspection by sampling", "stopped", "Inspect every piece until the maker has acted"
        )
    return Severity(now.state.value)
