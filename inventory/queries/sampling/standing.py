"""How the sample of a batch stands: counts by class, whether it has decided, what is left to measure.

Inspection may stop as soon as nothing left could change the decision. By variables there is no early end:
mean and spread need every reading of the plan.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.sampling.attributes import Decision, DefectClass, DoublePlan, Running, judge_by_place
from inventory.calc.sampling.earned import screening
from inventory.calc.sampling.variables import Judged, VariablesVerdict
from inventory.models import BatchDecision, BatchSampling
from inventory.models.sampling_plans import BatchPlan, read_plan
from inventory.queries.plans import plans_of
from inventory.queries.sampling.found import FoundPiece, found_pieces
from inventory.queries.sampling.variables import deviations_at, error_at, judged_by_variables

if TYPE_CHECKING:
    from inventory.models import Batch

CLOSE_WORDS = (
    "Too close to call with our reading error allowed for. Measure every piece, or read each more than once."
)


@dataclass(frozen=True, slots=True)
class SampleStanding:
    """A sample so far; `decision` None for a batch of which every piece is measured.

    `asked` are the pieces still to be measured for the decision, in drawn order; `ahead` those of the second
    sample, which are measured only if the first does not decide.
    """

    sampling: BatchSampling
    plan: BatchPlan
    decided: BatchDecision | None
    pieces: Sequence[FoundPiece]
    decision: Decision | None
    classes: Mapping[DefectClass, Running]
    judged: Judged | None
    words: Sequence[str]
    asked: Sequence[FoundPiece]
    ahead: Sequence[FoundPiece]

    @property
    def drawn(self) -> list[FoundPiece]:
        return [piece for piece in self.pieces if piece.drawn]

    @property
    def inspected(self) -> list[FoundPiece]:
        """The drawn pieces that are judged."""
        return [piece for piece in self.drawn if piece.inspected]

    @property
    def not_drawn(self) -> list[FoundPiece]:
        return [piece for piece in self.pieces if not piece.drawn]

    @property
    def may_stop(self) -> bool:
        """Whether the sample has decided."""
        return self.decision in {Decision.ACCEPT, Decision.REFUSE}

    @property
    def stopped_early(self) -> bool:
        """Whether it has, with pieces of the sample not measured."""
        return self.may_stop and any(not piece.inspected for piece in self.drawn if piece.stage == 1)

    @property
    def screening_words(self) -> str:
        """What is left to measure of a refused batch."""
        labels = [piece.label for piece in sorted(self.pieces, key=lambda piece: piece.number)]
        return screening(labels, measured={p.label for p in self.pieces if p.inspected}).words


def sampling_of(batch: Batch) -> BatchSampling | None:
    """The sample of a batch, with its scheme and decision; one statement."""
    found = BatchSampling.objects.select_related(
        "scheme__point", "scheme__maker", "scheme__style", "decision__decided_by", "drawn_by"
    )
    return found.filter(batch=batch).first()


def standing_of_sample(batch: Batch, sampling: BatchSampling) -> SampleStanding:
    """How the sample stands now. `batch.style` should be loaded; a constant number of statements."""
    plan = read_plan(sampling.document)
    pieces = found_pieces(batch)
    drawn = [piece for piece in pieces if piece.drawn]
    decided: BatchDecision | None = getattr(sampling, "decision", None)
    if plan.every_piece:
        left = [piece for piece in drawn if not piece.inspected]
        done = f"Every piece is measured: {len(drawn) - len(left)} of {len(drawn)} done."
        return SampleStanding(sampling, plan, decided, pieces, None, {}, None, (done,), left, ())
    by_place = {piece.position: piece.worst for piece in drawn if piece.inspected}
    verdict = judge_by_place(plan.as_class_plans(), by_place)
    decision, words, judged = verdict.decision, verdict.words, None
    if plan.by_variables is not None:
        decision, words, judged = _by_variables(batch, plan, drawn, verdict.decision, verdict.words)
    critical = [piece for piece in pieces if piece.worst is DefectClass.CRITICAL]
    if critical and decision is not Decision.REFUSE:
        decision = Decision.REFUSE
        words = (f"A critical defect was found on {critical[0].label}: refused, in the sample or not.",)
    asked, ahead = _left(plan, drawn, decision)
    return SampleStanding(
        sampling, plan, decided, pieces, decision, verdict.standings, judged, words, asked, ahead
    )


def _by_variables(
    batch: Batch,
    plan: BatchPlan,
    drawn: Sequence[FoundPiece],
    critical: Decision,
    critical_words: tuple[str, ...],
) -> tuple[Decision, tuple[str, ...], Judged | None]:
    its = plan.by_variables
    assert its is not None
    if critical is Decision.REFUSE:
        return critical, critical_words, None
    ids = {piece.pk: piece.verdict_id for piece in drawn if piece.verdict_id is not None}
    found = deviations_at(ids, batch.pk, its.code)
    if len(found) < its.plan.n:
        left = its.plan.n - len(found)
        return Decision.GO_ON, (f"{its.code}: {len(found)} of {its.plan.n} read, {left} to go.",), None
    point = next(plans[its.code] for plans in plans_of(batch).by_size.values() if its.code in plans)
    judged, bell = judged_by_variables(its, list(found.values()), error_at(point))
    said = (f"{its.code}: {judged.words}", bell)
    if judged.verdict is VariablesVerdict.CLOSE:
        return Decision.GO_ON, (*said, CLOSE_WORDS), judged
    accepted = judged.verdict is VariablesVerdict.ACCEPTED
    return (Decision.ACCEPT if accepted else Decision.REFUSE), said, judged


def _left(
    plan: BatchPlan, drawn: Sequence[FoundPiece], decision: Decision
) -> tuple[list[FoundPiece], list[FoundPiece]]:
    if decision is not Decision.GO_ON:
        return [], []
    open_first = [piece for piece in drawn if piece.stage == 1 and not piece.inspected]
    second = [piece for piece in drawn if piece.stage == 2 and not piece.inspected]
    if open_first or not any(isinstance(its.plan, DoublePlan) for its in plan.classes.values()):
        return open_first, second
    return second, []
