"""What the bench asks next, and what it shows of the point just read.

The order of asking: a slip question first; then the point just read once more while its verdict is too
close to call; then the next step of the walk; then what was left too close to call on the way; then finish.

Blind entry: a figure of a point (nominal, limits, deviation, an earlier repeat) is never shown while a
reading of that same point is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from inventory.calc import judging
from inventory.calc.conformity import Verdict
from inventory.calc.plan import Aspect

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.calc.judging import Finding, Taken
    from inventory.calc.plan import PointPlan
    from inventory.models import Reading, SlipQuestion
    from inventory.queries.bench.sheet import Sheet
    from inventory.queries.bench.walk import Step


class Ask(StrEnum):
    """What kind of answer the box waits for."""

    READ = "read"
    AGAIN = "again"
    QUESTION = "question"
    CORRECT = "correct"
    FINISH = "finish"


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked: a step to read (`nth` of at most `most`), a question to answer, or to finish.

    `or_else` is the guard's other guess at the same slip; one answer holds for both.
    """

    kind: Ask
    step: Step | None = None
    nth: int = 1
    most: int = 1
    question: SlipQuestion | None = None
    or_else: SlipQuestion | None = None
    corrects: Reading | None = None

    @property
    def code(self) -> str:
        """The code of the point whose figures must not be seen now; empty when none is asked for."""
        return self.step.point.code if self.step else ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of the step just read.

    `withheld` when its figures must stay hidden because the same point is asked for again or on its other
    side. `again` names the step that could settle a verdict that is too close to call.
    """

    step: Step
    plan: PointPlan
    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]
    again: Step | None
    withheld: bool

    @property
    def informational(self) -> bool:
        """Whether the point is read and kept without a verdict hanging on it."""
        return self.step.point.informational

    @property
    def here(self) -> Finding | None:
        """The finding of the side that was read."""
        return self._of(Aspect(self.step.side))

    @property
    def other(self) -> Finding | None:
        """The finding of the other side, once both are in."""
        opposite = {"L": Aspect.RIGHT, "R": Aspect.LEFT}.get(self.step.side)
        return self._of(opposite) if opposite else None

    @property
    def full(self) -> Finding | None:
        """The full girth of a half, where it says more than the half: both halves in, or one that must do."""
        found = self._of(Aspect.FULL)
        return found if found is not None and found.deciding else None

    @property
    def pair(self) -> Finding | None:
        """Left against right, once both are in and a limit is set."""
        return self._of(Aspect.PAIR)

    @property
    def verdict(self) -> Verdict | None:
        """The worst of what this point decides so far; None when nothing does."""
        return verdict_at(self.findings)

    @property
    def by_final_rule(self) -> bool:
        """Whether the readings were used up and the rule fixed in advance decided."""
        return any(finding.by_final_rule and finding.deciding for finding in self.findings)

    def _of(self, aspect: Aspect) -> Finding | None:
        return next((finding for finding in self.findings if finding.aspect is aspect), None)


def what_next(sheet: Sheet, *, after: Step | None = None, at: Step | None = None) -> Asked:
    """What to ask now; `after` is the step just read, `at` a step that was asked for by name."""
    if at is not None:
        return _read(sheet, at)
    if sheet.questions:
        question, *others = sheet.questions
        reading = question.reading
        step = sheet.step(reading.point.code, reading.side)
        or_else = next((other for other in others if other.reading_id == reading.pk), None)
        return Asked(Ask.QUESTION, step=step, question=question, or_else=or_else, corrects=reading)
    if after is not None and (again := step_to_repeat(sheet, after)) is not None:
        return _read(sheet, again)
    if sheet.missing:
        return _read(sheet, sheet.missing[0])
    left_close = (step_to_repeat(sheet, step) for step in sheet.walk)
    again = next((step for step in left_close if step is not None), None)
    return _read(sheet, again) if again is not None else Asked(Ask.FINISH)


def to_correct(sheet: Sheet, reading_id: int) -> Asked | None:
    """Ask for a correction of one reading in effect; None when the sitting has no such reading."""
    reading = next((reading for reading in sheet.readings if reading.pk == reading_id), None)
    if reading is None:
        return None
    step = sheet.step(reading.point.code, reading.side)
    return Asked(Ask.CORRECT, step=step, nth=reading.repeat, corrects=reading) if step else None


def outcome_at(sheet: Sheet, step: Step, *, asked: Asked) -> Outcome | None:
    """What came of a step that has been read; None while it has not."""
    readings = sheet.readings_at(step.column)
    if not readings:
        return None
    return Outcome(
        step=step,
        plan=sheet.plan(step.point.code),
        readings=readings,
        findings=findings_at(sheet, step.point.code),
        again=step_to_repeat(sheet, step),
        withheld=sheet.blind and asked.code == step.point.code,
    )


def findings_at(sheet: Sheet, code: str) -> tuple[Finding, ...]:
    """What was found at a point so far, by the shop's two rules."""
    if code not in sheet.found:
        sheet.found[code] = judging.judge_point(
            sheet.plan_as_read(code),
            sheet.taken_at(code),
            shelf=sheet.shop.shelf_rule.as_rule(),
            claim=sheet.shop.claim_rule.as_rule(),
            one_half_will_do=code in sheet.only_one_half,
        )
    return sheet.found[code]


def step_to_repeat(sheet: Sheet, after: Step) -> Step | None:
    """The step whose repeat could settle what is too close to call at a point; None: nothing to do.

    Points without a verdict are never repeated, and nothing is repeated beyond the number the rule allows.
    """
    if after.point.informational:
        return None
    code = after.point.code
    side = side_to_repeat(
        findings_at(sheet, code),
        sheet.taken_at(code),
        most=sheet.shop.shelf_rule.max_repeats,
        in_hand=after.side,
    )
    return sheet.step(code, side) if side is not None else None


def side_to_repeat(
    findings: Sequence[Finding], taken: Mapping[str, Taken], *, most: int, in_hand: str
) -> str | None:
    """The side to read again: of what is too close to call the side read least, then the one in hand."""
    finding = finding_to_settle(findings, most=most)
    if finding is None:
        return None
    if finding.aspect in (Aspect.FULL, Aspect.PAIR):
        return min(taken, key=lambda side: (taken[side].readings, side != in_hand))
    return finding.aspect.value


def finding_to_settle(findings: Sequence[Finding], *, most: int) -> Finding | None:
    """The first finding that is too close to call and may be read once more."""
    close = (finding for finding in findings if finding.deciding and finding.shelf is Verdict.CLOSE)
    return next((finding for finding in close if finding.readings < most), None)


def verdict_at(findings: Sequence[Finding]) -> Verdict | None:
    """The worst deciding shelf verdict; None when nothing decides."""
    deciding = [finding.shelf for finding in findings if finding.deciding]
    for verdict in (Verdict.OUT, Verdict.CLOSE, Verdict.IN):
        if verdict in deciding:
            return verdict
    return None


def _read(sheet: Sheet, step: Step) -> Asked:
    taken = sheet.taken.get(step.column)
    if taken is None:
        return Asked(Ask.READ, step=step)
    most = max(sheet.shop.shelf_rule.max_repeats, taken.readings + 1)
    return Asked(Ask.AGAIN, step=step, nth=taken.readings + 1, most=most)
