"""The verdict of a piece as it is told at the bench: the worst point, the size it fits, how many of each."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.conformity import Verdict
from inventory.calc.plan import Aspect
from inventory.queries.bench.asking import verdict_at

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from inventory.calc.judging import Finding
    from inventory.models import MeasurePoint, PieceVerdict
    from inventory.queries.bench.sheet import Sheet

ASPECT_WORDS = {
    Aspect.LEFT: "left",
    Aspect.RIGHT: "right",
    Aspect.SINGLE: "",
    Aspect.FULL: "full girth",
    Aspect.PAIR: "left against right",
}


@dataclass(frozen=True, slots=True)
class VerdictSlip:
    """A verdict with the finding that decided, and how many points got which shelf verdict."""

    verdict: PieceVerdict
    worst: Finding | None
    worst_point: MeasurePoint | None
    points_by_verdict: Mapping[str, int]
    twice_one_half: tuple[str, ...]
    besides: tuple[tuple[str, str], ...] = ()
    """What else is not in tolerance: in words, and its verdict code; out first."""

    @property
    def worst_words(self) -> str:
        """What was worst: `half waist, left`."""
        if self.worst is None or self.worst_point is None:
            return ""
        return _words_of(self.worst_point, self.worst.aspect)

    @property
    def by_final_rule(self) -> bool:
        """Whether the finding that decided was ended by the rule fixed in advance."""
        return self.worst is not None and self.worst.by_final_rule


def slip_of(verdict: PieceVerdict, sheet: Sheet) -> VerdictSlip:
    """What to tell of a stored verdict; no query, when its basis is loaded."""
    findings = verdict.as_findings()
    of_worst = findings.get(verdict.worst_point, ())
    worst = next((f for f in of_worst if f.aspect.value == verdict.worst_aspect), None)
    verdicts = [verdict_at(of_point) for of_point in findings.values()]
    return VerdictSlip(
        verdict=verdict,
        worst=worst,
        worst_point=sheet.spec_plans.points.get(verdict.worst_point),
        points_by_verdict=Counter(found.value for found in verdicts if found is not None),
        twice_one_half=tuple(
            code
            for code, of_point in findings.items()
            if any(f.from_one_half and f.deciding for f in of_point)
        ),
        besides=_besides(findings, worst, sheet),
    )


def _besides(
    findings: Mapping[str, Sequence[Finding]], worst: Finding | None, sheet: Sheet
) -> tuple[tuple[str, str], ...]:
    told = [
        (_words_of(sheet.spec_plans.points[code], finding.aspect), finding.shelf.value)
        for code, of_point in findings.items()
        for finding in of_point
        if finding.deciding and finding.shelf is not Verdict.IN and finding is not worst
        if code in sheet.spec_plans.points
    ]
    return tuple(sorted(told, key=lambda each: each[1] != Verdict.OUT))


def _words_of(point: MeasurePoint, aspect: Aspect) -> str:
    words = ASPECT_WORDS[aspect]
    return f"{point.name}, {words}" if words else point.name
