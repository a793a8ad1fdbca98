"""The findings of a stored verdict as a table: one row per point, with the limits it was judged on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.conformity import Verdict, worst
from inventory.calc.plan import Aspect
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from inventory.calc.conformity import Limits
    from inventory.calc.judging import Finding
    from inventory.calc.plan import PointPlan
    from inventory.models import Batch, MeasurePoint, PieceVerdict


@dataclass(frozen=True, slots=True)
class PointRow:
    """One point of a judged piece: what was asked, and what was found of each aspect."""

    code: str
    point: MeasurePoint | None
    plan: PointPlan
    left: Finding | None
    right: Finding | None
    single: Finding | None
    full: Finding | None
    pair: Finding | None
    shelf: str
    claim: str
    is_worst: bool

    @property
    def deciding(self) -> Finding | None:
        """The finding the point is judged by: the full girth where the tolerance is stated for it."""
        if self.plan.judged_as_full:
            return self.full
        return self.single or self.worst_side

    @property
    def asked_nominal_nm(self) -> int:
        """The nominal the tolerance is stated for: the full girth's, or as read."""
        return self.plan.full_nominal_nm if self.plan.judged_as_full else self.plan.nominal_nm

    @property
    def asked_limits(self) -> Limits:
        """The limits the tolerance is stated for: the full girth's, or as read."""
        return self.plan.full_limits if self.plan.judged_as_full else self.plan.limits

    @property
    def deviation_nm(self) -> int | None:
        """How far what the point is judged by lies from its nominal."""
        return None if self.deciding is None else self.deciding.value_nm - self.deciding.nominal_nm

    @property
    def expanded_nm(self) -> int | None:
        """Expanded uncertainty (k = 2) of what the point is judged by."""
        return None if self.deciding is None else 2 * self.deciding.u_nm

    @property
    def by_final_rule(self) -> bool:
        """Whether the readings were used up and the plain comparison decided something."""
        found = (self.left, self.right, self.single, self.full, self.pair)
        return any(finding is not None and finding.deciding and finding.by_final_rule for finding in found)

    @property
    def worst_side(self) -> Finding | None:
        """The half or side that lies further from its nominal."""
        sides = [side for side in (self.left, self.right) if side is not None]
        return max(sides, key=lambda side: abs(side.value_nm - side.nominal_nm), default=None)


def point_rows(verdict: PieceVerdict, batch: Batch) -> list[PointRow]:
    """The stored findings as a table, in the order of the basis they were judged on.

    Limits, uncertainty and rule are those of the verdict, whatever the spec or the shop say today.
    """
    plans = verdict.basis.as_plans()
    found = verdict.as_findings()
    points = plans_of(batch).points
    return [
        _row(code, plans[code], found[code], points.get(code), is_worst=code == verdict.worst_point)
        for code in plans
        if code in found
    ]


def not_in_tolerance(verdict: PieceVerdict, batch: Batch) -> list[tuple[PointRow, Finding, int]]:
    """What keeps a piece from being in tolerance: point, finding, deviation in nm; the out ones first."""
    found = [
        (row, finding, finding.value_nm - finding.nominal_nm)
        for row in point_rows(verdict, batch)
        for finding in (row.left, row.right, row.single, row.full, row.pair)
        if finding is not None and finding.deciding and finding.shelf != Verdict.IN
    ]
    return sorted(found, key=lambda one: one[1].shelf != Verdict.OUT)


def _row(
    code: str, plan: PointPlan, found: Sequence[Finding], point: MeasurePoint | None, *, is_worst: bool
) -> PointRow:
    of = {finding.aspect: finding for finding in found}
    deciding = [finding for finding in found if finding.deciding]
    return PointRow(
        code=code,
        point=point,
        plan=plan,
        left=of.get(Aspect.LEFT),
        right=of.get(Aspect.RIGHT),
        single=of.get(Aspect.SINGLE),
        full=of.get(Aspect.FULL),
        pair=of.get(Aspect.PAIR),
        shelf=_worst(finding.shelf for finding in deciding),
        claim=_worst(finding.claim for finding in deciding),
        is_worst=is_worst,
    )


def _worst(verdicts: Iterable[Verdict]) -> str:
    found = list(verdicts)
    return worst(found).value if found else ""
