"""What is still to do in a batch before it can be put away."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.models import Defect, Inspection, SlipQuestion
from inventory.models.pieces import Standing

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from inventory.models import Batch
    from inventory.queries.batch_verdicts import PieceLine

_NAMED = 6


@dataclass(frozen=True, slots=True)
class Waiting:
    """Pieces that wait for the same thing: how many, and the labels of the first few."""

    count: int
    first: tuple[str, ...]

    @property
    def more(self) -> int:
        return self.count - len(self.first)


@dataclass(frozen=True, slots=True)
class BatchToDo:
    """What waits: on the bench, for a second reading, for a decision, for release."""

    not_numbered: int | None
    to_measure: Waiting
    to_measure_again: Waiting
    open_sittings: Waiting
    open_questions: Waiting
    too_close: Waiting
    out: Waiting
    to_release: Waiting
    not_drawn: Waiting
    wrong_size: Waiting
    grave_defects: int
    critical_defects: int

    @property
    def is_empty(self) -> bool:
        waiting = (self.to_measure, self.to_measure_again, self.open_sittings, self.open_questions)
        decisions = (self.too_close, self.out, self.to_release, self.not_drawn)
        return not self.not_numbered and not any(w.count for w in (*waiting, *decisions))


def batch_todo(
    batch: Batch, lines: Sequence[PieceLine], *, left_out: Collection[int] = frozenset()
) -> BatchToDo:
    """What is still to do, from the lines of the batch's map; three statements.

    `left_out` are the numbers of pieces that the batch's sample does not ask for: `not_drawn`.

    `not_numbered` is how many of the announced pieces have no number yet; negative: more than announced;
    None: none were announced.
    """
    grave = Counter(batch.defects.exclude(severity=Defect.Severity.MINOR).values_list("severity", flat=True))
    again = [line for line in lines if line.to_measure_again]
    held = [line for line in lines if line.standing == Standing.HOLD and not line.to_measure_again]
    started = _labels_of_open_sittings(batch)
    unjudged = [line for line in held if not line.shelf and line.label not in started]
    return BatchToDo(
        not_numbered=None if batch.pieces_announced is None else batch.pieces_announced - len(lines),
        to_measure=_waiting([line.label for line in unjudged if line.number not in left_out]),
        to_measure_again=_waiting([line.label for line in again if line.label not in started]),
        open_sittings=_waiting(started),
        open_questions=_waiting(_labels_with_open_questions(batch)),
        too_close=_waiting([line.label for line in held if line.shelf == "close"]),
        out=_waiting([line.label for line in held if line.shelf == "out"]),
        to_release=_waiting([line.label for line in held if line.shelf == "in"]),
        not_drawn=_waiting([line.label for line in unjudged if line.number in left_out]),
        wrong_size=_waiting([line.label for line in lines if line.size_suspected]),
        grave_defects=grave.total(),
        critical_defects=grave[Defect.Severity.CRITICAL],
    )


def _labels_of_open_sittings(batch: Batch) -> list[str]:
    sittings = Inspection.objects.filter(piece__batch=batch, finished_at=None).select_related("piece")
    return sorted({sitting.piece.label for sitting in sittings})


def _labels_with_open_questions(batch: Batch) -> list[str]:
    questions = SlipQuestion.objects.filter(
        reading__inspection__piece__batch=batch, reading__corrections=None, answer=""
    ).select_related("reading__inspection__piece")
    return sorted({question.reading.inspection.piece.label for question in questions})


def _waiting(labels: Sequence[str]) -> Waiting:
    return Waiting(len(labels), tuple(labels[:_NAMED]))
