"""The walk list at the bench: each step with where it stands and the mark of its verdict, as a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.utils.html import format_html_join
from django.utils.safestring import SafeString

from inventory.calc.conformity import Verdict
from inventory.calc.plan import Aspect
from inventory.queries.bench.asking import Asked, findings_at, step_to_repeat, verdict_at
from inventory.templatetags.verdicts import verdict_mark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.calc.judging import Finding
    from inventory.queries.bench.sheet import Sheet
    from inventory.queries.bench.walk import Step

# What belongs to both sides of a point, as the subject of a sentence.
CLOSE_WORDS: Final = {Aspect.PAIR: "Left against right", Aspect.FULL: "The full girth"}


@dataclass(frozen=True, slots=True)
class WalkLine:
    """One line of the walk list: the step, where it stands, and the mark of its verdict, if any."""

    step: Step
    state: str  # "done", "unread", "again" or "todo"
    mark: str | None
    is_now: bool
    can_skip: bool
    both: SafeString

    @property
    def words(self) -> str:
        """Where the step stands, for those who listen."""
        return {"done": "done", "unread": "cannot be read", "again": "again", "todo": "to come"}[self.state]


def walk_lines(sheet: Sheet, asked: Asked) -> list[WalkLine]:
    """The walk list with its marks."""
    found = {code: findings_at(sheet, code) for code in {code for code, _ in sheet.taken}}
    lines = []
    for step in sheet.walk:
        taken = step.column in sheet.taken
        again = taken and step_to_repeat(sheet, step) == step
        state = "again" if again else "done" if taken else "unread" if step.column in sheet.unread else "todo"
        lines.append(
            WalkLine(
                step=step,
                state=state,
                mark=mark_of(step, found.get(step.point.code, ())) if taken else None,
                is_now=asked.step == step,
                can_skip=can_skip(sheet, step),
                both=marks_of_both(step, found.get(step.point.code, ())),
            )
        )
    return lines


def walk_rows(lines: Sequence[WalkLine]) -> list[dict[str, Any]]:  # Any: a point and its lines
    """The walk as a table: a row per point, its left, right or only side."""
    by_key = {line.step.key: line for line in lines}
    points = {line.step.point.code: line.step.point for line in lines}
    return [
        {
            "point": point,
            "both": next((line.both for line in lines if line.step.point.code == code and line.both), ""),
            "left": by_key.get(f"{code}-L"),
            "right": by_key.get(f"{code}-R"),
            "single": by_key.get(f"{code}-S"),
        }
        for code, point in points.items()
    ]


def mark_of(step: Step, findings: Sequence[Finding]) -> str | None:
    """The verdict code that stands beside a step: of its side, or of the full girth where that decides."""
    if step.point.informational:
        return None
    of_side = verdict_at([finding for finding in findings if finding.aspect is Aspect(step.side)])
    verdict = of_side or verdict_at([finding for finding in findings if finding.aspect is Aspect.FULL])
    return verdict.value if verdict else None


def marks_of_both(step: Step, findings: Sequence[Finding]) -> SafeString:
    """What both sides of a point together are found to be, unless it is in tolerance; else empty.

    Not in the marks of the sides: a side right on its nominal is not out because the pair is uneven.
    """
    halves_decide = any(f.deciding and f.aspect not in CLOSE_WORDS for f in findings)
    told = [
        (verdict_mark(f.shelf.value), CLOSE_WORDS[f.aspect].removeprefix("The ").lower())
        for f in findings
        if f.aspect in CLOSE_WORDS and f.deciding and f.shelf is not Verdict.IN
        if halves_decide or f.aspect is Aspect.PAIR
    ]
    if step.point.informational:
        told = []
    return format_html_join("", '<span class="walk-both">{} {}</span>', told)


def can_skip(sheet: Sheet, step: Step | None) -> bool:
    """Whether a side may be noted as impossible to read: a half whose other half is not given up."""
    if step is None or step.column in sheet.done:
        return False
    other = {"L": "R", "R": "L"}.get(step.side)
    return step.point.kind == "half" and other is not None and (step.point.code, other) not in sheet.given_up
