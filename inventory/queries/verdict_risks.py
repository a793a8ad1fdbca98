"""For each point of a judged piece the chance that its verdict is wrong: by the reading, and with the maker.

Specific risk of JCGM 106:2012 clause 7 (from memory): see `inventory.calc.risk`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.conformity import Limits
from inventory.calc.judging import sureness_of
from inventory.calc.risk import MakerSpread, VerdictRisk, risk_of_verdict
from inventory.queries.maker_spreads import LEAST_PIECES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.calc.judging import Finding, Sureness
    from inventory.calc.plan import PointPlan
    from inventory.models import PieceVerdict
    from inventory.queries.maker_spreads import KnownSpread, Spreads


@dataclass(frozen=True, slots=True)
class FindingRisk:
    """One finding with how sure it is; `with_maker` is None where too little is known of the maker."""

    code: str
    finding: Finding
    plan: PointPlan
    sure: Sureness
    alone: VerdictRisk
    with_maker: VerdictRisk | None
    known: KnownSpread | None
    is_worst: bool

    @property
    def known_from(self) -> str:
        """Where the uncertainty comes from, in words; empty for planning values."""
        if self.sure.dof is None:
            return ""
        degrees = "1 degree" if self.sure.dof == 1 else f"{self.sure.dof} degrees"
        return f"known from a study with {degrees} of freedom"

    @property
    def of_maker(self) -> str:
        """What is known of the maker at this point, in words."""
        if self.known is None or self.known.pieces < LEAST_PIECES:
            pieces = 0 if self.known is None else self.known.pieces
            return (
                f"not enough known: {pieces} of the {LEAST_PIECES} pieces of earlier batches that are needed"
            )
        if self.known.sd_nm is None:
            return f"not enough known: {self.known.pieces} pieces differ no more than reading explains"
        far = "" if self.with_maker or self.finding.from_one_half else ", whose spread does not reach so far"
        return f"{self.known.pieces} pieces of earlier batches{far}"


def risks_of(verdict: PieceVerdict, spreads: Spreads | None = None) -> list[FindingRisk]:
    """Every finding that decides, in walk order. No statement when the verdict's basis is loaded."""
    plans = verdict.basis.as_plans()
    worst = (verdict.worst_point, verdict.worst_aspect)
    return [
        risk_of(
            code,
            finding,
            plans[code],
            known=(spreads or {}).get((code, finding.aspect)),
            is_worst=(code, finding.aspect.value) == worst,
        )
        for code, findings in _in_walk_order(verdict.as_findings(), plans)
        for finding in findings
        if finding.deciding
    ]


def worst_of(risks: Iterable[FindingRisk]) -> FindingRisk | None:
    """That of the finding which decided for the piece."""
    return next((risk for risk in risks if risk.is_worst), None)


def risk_of(
    code: str, finding: Finding, plan: PointPlan, *, known: KnownSpread | None = None, is_worst: bool = False
) -> FindingRisk:
    """How sure one finding is. The guess that is half a pair unread knows no maker.

    Nor does a reading that is none of those the maker's pieces give: a wrong label, say.
    """
    sure = sureness_of(finding, plan)
    limits = Limits(finding.lower_nm, finding.upper_nm)
    maker = None if known is None or finding.from_one_half else known.around(finding.nominal_nm)
    if maker is not None and not maker.explains(finding.value_nm, u_nm=sure.u_nm):
        maker = None

    def risk(spread: MakerSpread | None) -> VerdictRisk:
        return risk_of_verdict(finding.shelf, finding.value_nm, limits, sure=sure.as_combined(), maker=spread)

    return FindingRisk(
        code=code,
        finding=finding,
        plan=plan,
        sure=sure,
        alone=risk(None),
        with_maker=None if maker is None else risk(maker),
        known=known,
        is_worst=is_worst,
    )


def _in_walk_order(
    found: Mapping[str, tuple[Finding, ...]], plans: Mapping[str, PointPlan]
) -> Iterable[tuple[str, tuple[Finding, ...]]]:
    return ((code, found[code]) for code in plans if code in found)
