"""Decided batches of a maker and a style as the switching rules take them, and the severity that follows.

The history is kept by itself: it is the decisions on batches, and the notes a person adds before the rules
may switch. A decision counts in the history of a class of defects when that class was decided; where another
class refused the batch before, it says nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from inventory.calc.sampling.attributes import DefectClass, Severity, SinglePlan
from inventory.calc.sampling.switching import PastBatch, Rules, Standing, State, standing
from inventory.models import BatchDecision, SamplingScheme, SwitchingNote
from inventory.models.sampling_plans import BatchPlan, read_plan

if TYPE_CHECKING:
    import datetime as dt

RULES = {
    SamplingScheme.Rules.OF_1989: Rules.MIL_105E,
    SamplingScheme.Rules.OF_1999: Rules.ISO_1999,
}
Kind = SwitchingNote.Kind


@dataclass(frozen=True, slots=True)
class Switching:
    """How strictly the next batch is inspected in one class, and why; None of `severity`: not by sampling."""

    severity: Severity | None
    why: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class History:
    """The decided batches of one maker and style, oldest first, and what was noted."""

    decisions: Sequence[BatchDecision]
    notes: Sequence[SwitchingNote]

    def switching(self, one: DefectClass, *, aql: Decimal, rules: Rules) -> Switching:
        """How a class stands under the rules."""
        past = self._past(one)
        now = standing(past, aql=aql, rules=rules)
        if now.state is not State.STOPPED:
            return Switching(Severity(now.state.value), now.why, now)
        resumed = self._resumed_since()
        if resumed is None:
            return Switching(None, now.why, now)
        return Switching(Severity.TIGHTENED, f"Sampling begins again, tightened: {resumed.note}", now)

    def _past(self, one: DefectClass) -> list[PastBatch]:
        return list(_past_batches(self.decisions, self.notes, one))

    def _resumed_since(self) -> SwitchingNote | None:
        """The note that ended a stop after the last decision."""
        last = self.decisions[-1].decided_at
        notes = [note for note in self.notes if note.kind == Kind.RESUMED and note.noted_at >= last]
        return notes[-1] if notes else None

    def wished(self) -> tuple[bool, bool]:
        """Whether production is noted as steady, and reduced inspection as wanted, now."""
        return _stands(self.notes, None)


def history_of(maker_id: int, style_id: int) -> History:
    """All that was decided and noted of a maker and a style; two statements."""
    decided = BatchDecision.objects.filter(
        sampling__batch__delivery__maker=maker_id, sampling__batch__style=style_id
    )
    noted = SwitchingNote.objects.filter(maker=maker_id, style=style_id).select_related("noted_by")
    rows = decided.select_related("sampling__batch", "decided_by").order_by("decided_at", "id")
    return History(list(rows), list(noted.order_by("noted_at", "id")))


def _past_batches(
    decisions: Sequence[BatchDecision], notes: Sequence[SwitchingNote], one: DefectClass
) -> Iterable[PastBatch]:
    before: dt.datetime | None = None
    for place, row in enumerate(decisions):
        plan = read_plan(row.sampling.document)
        # What was said until the next sample was drawn is how things stood after this batch.
        until = decisions[place + 1].sampling.drawn_at if place + 1 < len(decisions) else None
        steady, wanted = _stands(notes, until)
        counted = _counted(row.document, plan, one)
        if counted is not None:
            yield PastBatch(
                name=row.sampling.batch.label,
                day=timezone.localdate(row.decided_at),
                **counted,
                original=row.original,
                steady=steady,
                reduced_wanted=wanted,
                corrected=_resumed_between(notes, before, row.sampling.drawn_at),
            )
        before = row.decided_at


def _counted(
    document: Mapping[str, Any], plan: BatchPlan, one: DefectClass
) -> dict[str, Any] | None:  # Any: JSON; arguments
    if plan.by_variables is not None:
        # The same rules for the severity; by one reading each, so what was found is only accepted or not.
        accepted = document["accepted"]
        size = plan.by_variables.plan.n
        return {
            "plan": SinglePlan(size, 0, 1),
            "severity": Severity(plan.severity),
            "inspected": size,
            "found": 0 if accepted else 1,
            "accepted": accepted,
        }
    said = document["classes"].get(str(one))
    if said is None or one not in plan.classes or said["decision"] == "go on":
        return None
    its = plan.classes[one]
    return {
        "plan": its.plan,
        "severity": Severity(its.severity or Severity.NORMAL),
        "inspected": said["inspected"],
        "found": said["bad"],
        "accepted": said["decision"] == "accept",
    }


def _stands(notes: Iterable[SwitchingNote], until: dt.datetime | None) -> tuple[bool, bool]:
    """Steady, and reduced wanted, by the latest of each; nothing said means neither."""
    steady = wanted = False
    for note in notes:
        if until is not None and note.noted_at > until:
            break
        if note.kind in {Kind.STEADY, Kind.IRREGULAR}:
            steady = note.kind == Kind.STEADY
        elif note.kind in {Kind.REDUCED_WANTED, Kind.REDUCED_UNWANTED}:
            wanted = note.kind == Kind.REDUCED_WANTED
    return steady, wanted


def _resumed_between(notes: Iterable[SwitchingNote], after: dt.datetime | None, until: dt.datetime) -> bool:
    return any(
        note.kind == Kind.RESUMED and note.noted_at <= until and (after is None or note.noted_at >= after)
        for note in notes
    )
