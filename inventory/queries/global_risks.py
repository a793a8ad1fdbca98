"""What the two rules do to all pieces of a maker: the shares called wrongly, point by point.

Global consumer's and producer's risk of JCGM 106:2012 clause 9 (from memory), for one reading of each side by
one person: what a shop that measures every piece once lets through, and refuses, over time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.conformity import Limits, guard_nm
from inventory.calc.judging import Taken, judge_point, sureness_of
from inventory.calc.plan import Aspect
from inventory.calc.risk import OverallRisk, overall_risk
from inventory.queries.maker_spreads import spreads_with
from inventory.queries.plans import plans_of
from inventory.queries.taken import deciding_plans

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory.calc.conformity import Rule
    from inventory.calc.judging import Finding
    from inventory.calc.plan import PointPlan
    from inventory.models import Batch, Shop
    from inventory.queries.maker_spreads import KnownSpread


@dataclass(frozen=True, slots=True)
class PointRisk:
    """One aspect of one point; the risks are None where too little is known of the maker."""

    code: str
    name: str
    aspect: Aspect
    known: KnownSpread | None
    shelf: OverallRisk | None
    claim: OverallRisk | None

    @property
    def mean_nm(self) -> int | None:
        """How far the pieces lie from nominal on average."""
        return None if self.known is None else round(self.known.mean_nm)

    @property
    def sd_nm(self) -> int | None:
        """The spread of their true lengths; None where reading explains all of it."""
        return None if self.known is None or self.known.sd_nm is None else round(self.known.sd_nm)


def global_risks(batch: Batch, *, size_label: str, shop: Shop) -> list[PointRisk]:
    """Every aspect that decides, by the limits of one size. Two statements, when the plans are kept.

    Raises `SizeNotInSpec`.
    """
    plans = plans_of(batch)
    spreads = spreads_with(batch)
    return [
        _risk(
            code, plans.points[code].name, finding, plan, known=spreads.get((code, finding.aspect)), shop=shop
        )
        for code, plan in deciding_plans(plans, size_label).items()
        for finding in _as_asked(plan, shop)
    ]


def _as_asked(plan: PointPlan, shop: Shop) -> Iterator[Finding]:
    """What would decide of a piece read once at its nominal: limits and uncertainty of each aspect."""
    taken: dict[str, Taken] = {side: Taken(plan.nominal_nm) for side in plan.sides}
    shelf, claim = shop.shelf_rule.as_rule(), shop.claim_rule.as_rule()
    found = judge_point(plan, taken, shelf=shelf, claim=claim)
    return (finding for finding in found if finding.deciding)


def _risk(
    code: str, name: str, finding: Finding, plan: PointPlan, *, known: KnownSpread | None, shop: Shop
) -> PointRisk:
    maker = None if known is None else known.around(finding.nominal_nm)
    sure = sureness_of(finding, plan)

    def by(rule: Rule) -> OverallRisk | None:
        if maker is None:
            return None
        return overall_risk(
            Limits(finding.lower_nm, finding.upper_nm),
            u_nm=float(finding.u_nm),
            maker=maker,
            guard_nm=guard_nm(sure.u_nm, rule, dof=sure.dof),
        )

    return PointRisk(
        code=code,
        name=name,
        aspect=finding.aspect,
        known=known,
        shelf=by(shop.shelf_rule.as_rule()),
        claim=by(shop.claim_rule.as_rule()),
    )
