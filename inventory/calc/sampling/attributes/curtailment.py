"""A running sample: whether the rest of it can still change the decision.

Pieces are inspected in the order they were drawn. As soon as every way the rest could turn out gives the
same decision, inspection of the sample may stop. Refusal stops early often, acceptance only near the end.
Two cautions come with stopping: the share of bad pieces in a stopped sample is not an estimate of the batch
(it stopped because of what it found), and when defects are counted a single piece can hold any number of
them, so acceptance is never certain before the last piece.

The rule is arithmetic; a test compares it with every possible continuation.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes.kinds import DoublePlan, Plan


class Decision(StrEnum):
    """What the sample decides of the batch."""

    ACCEPT = "accept"
    REFUSE = "refuse"
    GO_ON = "go on"


@dataclass(frozen=True, slots=True)
class Running:
    """Where a sample stands: the decision (final unless it is to go on), the counts, and the words.

    ``inspected`` and ``bad`` count the pieces that belong to the sample; ``left`` is the most that may still
    be asked for: 0 once decided by the full count, above 0 when decided early. ``in_gap`` says that the count
    so far is above the acceptance number of an accepted batch: normal inspection returns (reduced plans).
    """

    decision: Decision
    inspected: int
    bad: int
    left: int
    in_gap: bool
    words: str

    @property
    def early(self) -> bool:
        """Whether it was decided before the sample was complete."""
        return self.decision is not Decision.GO_ON and self.left > 0


def running_decision(plan: Plan, bad: Sequence[int], *, counts_defects: bool = False) -> Running:
    """The standing of a sample: ``bad`` holds one number per inspected piece, in drawn order.

    1 for a bad piece and 0 for a good one, or the defects on it with ``counts_defects``. More pieces than
    the plan asks for are not counted. Raises ImpossibleInput for a negative count, or one above 1 when bad
    pieces are counted.

    >>> from inventory.calc.sampling.attributes.kinds import SinglePlan
    >>> print(running_decision(SinglePlan(20, 1, 2), [0, 1, 0, 0, 1]).words)
    2 bad in 5 pieces: refused, whatever the other 15 show. Inspection of the sample may stop.
    """
    _check(bad, counts_defects=counts_defects)
    if isinstance(plan, DoublePlan):
        return _of_double(plan, bad, counts_defects=counts_defects)
    seen = bad[: plan.size]
    found, left = sum(seen), plan.size - len(seen)
    decision = _decide(found, left, plan.reject, counts_defects=counts_defects)
    return _standing(plan, decision, (len(seen), found, left))


def _of_double(plan: DoublePlan, bad: Sequence[int], *, counts_defects: bool) -> Running:
    first = bad[: plan.size]
    found, left = sum(first), plan.size - len(first)
    worst = found if left == 0 else (None if counts_defects else found + left)
    if found >= plan.reject_first:
        return _standing(plan, Decision.REFUSE, (len(first), found, left))
    if worst is not None and worst <= plan.accept_first:
        return _standing(plan, Decision.ACCEPT, (len(first), found, left))
    both = bad[: plan.most]
    found, left_of_both = sum(both), plan.most - len(both)
    decision = _decide(found, left_of_both, plan.reject, counts_defects=counts_defects)
    if decision is Decision.ACCEPT and worst is not None and worst >= plan.reject_first:
        decision = Decision.GO_ON  # both samples would pass, but the first alone can still refuse
    return _standing(plan, decision, (len(both), found, left_of_both))


def _decide(found: int, left: int, reject: int, *, counts_defects: bool) -> Decision:
    if found >= reject:
        return Decision.REFUSE
    certain = left == 0 if counts_defects else found + left < reject
    return Decision.ACCEPT if certain else Decision.GO_ON


def _standing(plan: Plan, decision: Decision, counts: tuple[int, int, int]) -> Running:
    inspected, found, left = counts
    limit = plan.accept
    in_gap = decision is Decision.ACCEPT and found > limit
    words = _words(decision, inspected, found, left)
    if in_gap:
        words += f" More than {limit} were bad: normal inspection returns with the next batch."
    elif decision is Decision.ACCEPT and found + left > limit:
        words += " Only the rest can show whether normal inspection returns with the next batch."
    return Running(decision, inspected, found, left, in_gap, words)


def _words(decision: Decision, inspected: int, found: int, left: int) -> str:
    start = f"{found} bad in {inspected} {'piece' if inspected == 1 else 'pieces'}"
    if decision is Decision.GO_ON:
        return f"{start}: not decided, at most {left} more to inspect."
    done = "accepted" if decision is Decision.ACCEPT else "refused"
    if left == 0:
        return f"{start}: {done}."
    other = "the one other shows" if left == 1 else f"the other {left} show"
    return f"{start}: {done}, whatever {other}. Inspection of the sample may stop."


def _check(bad: Sequence[int], *, counts_defects: bool) -> None:
    for place, count in enumerate(bad, 1):
        if count < 0:
            raise ImpossibleInput(f"count of piece {place}", count, "Give 0 for a good piece")
        if count > 1 and not counts_defects:
            raise ImpossibleInput(
                f"count of piece {place}", count, "A piece is bad once; give 1, or count defects by the plan"
            )
