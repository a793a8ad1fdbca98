"""Ask about a reading that looks like a slip, and take the answer. A figure is never altered."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, cast

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc import slips
from inventory.calc.slips import SlipKind
from inventory.models import SlipQuestion
from inventory.queries.batch_shift import batch_shift_at
from inventory.queries.plans import plans_of
from inventory.services.audit import leave_row
from inventory.services.inspections.refusals import NothingToAnswer

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from inventory.calc.length import Display, Parsed
    from inventory.calc.plan import Side
    from inventory.calc.slips import Slip
    from inventory.models import Reading, User

LONGEST_QUESTION = 300
MOST_GUESSES = 2


def ask_about_slips(
    reading: Reading, parsed: Parsed, others: Iterable[Reading], *, display: Display
) -> tuple[SlipQuestion, ...]:
    """Store the questions about the two likeliest slips, if the reading looks like one.

    A correction that confirms the figure to the nanometre answers the question it stands under: reading the
    same twice is not a slip of the keys. A figure that is usual for the batch is none either; what is usual
    is looked up only when the reading is in doubt, so that a plain reading costs nothing.
    """
    if reading.corrects is not None and reading.corrects.length_nm == reading.length_nm:
        return ()
    piece, others = reading.inspection.piece, tuple(others)
    before = [o for o in others if o.point_id == reading.point_id and o.side == reading.side]
    ask = partial(
        slips.questions_for,
        reading=parsed,
        code=reading.point.code,
        side=cast("Side", reading.side),
        size_label=piece.size_label,
        plans_by_size=plans_of(piece.batch).by_size,
        taken={(other.point.code, cast("Side", other.side)): other.length_nm for other in others},
        earlier_nm=[earlier.length_nm for earlier in before],
        another_person=any(earlier.taken_by_id != reading.taken_by_id for earlier in before),
        display=display,
        blind=reading.inspection.blind,
    )
    found = ask()
    if found and (shift_nm := batch_shift_at(piece, reading.point)):
        found = ask(batch_shift_nm=shift_nm)
    if any(slip.kind is SlipKind.NEIGHBOUR_SIZE for slip in found):
        found = _but_a_size_kept(reading, found)
    if not found:
        return ()
    return tuple(
        SlipQuestion.objects.bulk_create(
            SlipQuestion(
                reading=reading,
                kind=slip.kind.value,
                question=slip.question[:LONGEST_QUESTION],
                suggestion_nm=slip.suggestion_nm,
            )
            for slip in found[:MOST_GUESSES]
        )
    )


def _but_a_size_kept(reading: Reading, found: tuple[Slip, ...]) -> tuple[Slip, ...]:
    """Without the doubt about the size, when it was raised in this sitting and the figure was kept.

    Where that doubt explains the reading best nothing is asked: a piece of another size is off all over.
    """
    was_kept = SlipQuestion.objects.filter(
        reading__inspection=reading.inspection_id,
        kind=SlipKind.NEIGHBOUR_SIZE,
        answer=SlipQuestion.Answer.KEPT,
    ).exists()
    if not was_kept:
        return found
    if found[0].kind is SlipKind.NEIGHBOUR_SIZE:
        return ()
    return tuple(slip for slip in found if slip.kind is not SlipKind.NEIGHBOUR_SIZE)


@transaction.atomic
def answer_slip_question(*, question: SlipQuestion, answer: str, by: User, at: dt.datetime) -> SlipQuestion:
    """Keep the figure as read, or say that it will be read again. Raises `NothingToAnswer`.

    Two questions about one reading are guesses at one slip, so one answer holds for both. The same answer a
    second time is taken for the first one come again.
    """
    require(by, Deed.MEASURE)
    changed = SlipQuestion.objects.filter(
        reading=question.reading_id, answer=SlipQuestion.Answer.OPEN
    ).update(answer=SlipQuestion.Answer(answer), answered_by=by, answered_at=at)
    question.refresh_from_db()
    if changed:
        leave_row(who=by, deed="answer slip question", subject=question, at=at, answer=answer)
    elif (question.answer, question.answered_by_id) != (answer, by.pk):
        raise NothingToAnswer(
            f"This question was answered already: {question.get_answer_display()}. Look at the readings of "
            "the piece."
        )
    return question


def close_questions_of(reading: Reading, *, by: User, at: dt.datetime) -> None:
    """A correction answers what was asked about the reading it corrects: it was read again."""
    question = SlipQuestion.objects.filter(reading=reading, answer=SlipQuestion.Answer.OPEN).first()
    if question is not None:
        answer_slip_question(question=question, answer=SlipQuestion.Answer.READ_AGAIN, by=by, at=at)
