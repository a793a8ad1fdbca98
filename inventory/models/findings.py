"""How findings and the plans they were judged on are written to JSON and read back.

A stored verdict must be readable years later, so the form is plain and versioned by the basis document's
`method`. Rows are lists, not objects: a shop stores millions of them. Row of one aspect:
[aspect, value_nm, u_nm, shelf_guard_nm, claim_guard_nm, readings, shelf, claim, beyond_nm, flags].
Limits and nominals are not repeated per piece: they follow from the plans in the basis document.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterable, Mapping
from enum import IntFlag
from typing import Any

from inventory.calc.conformity import Limits, Rule, Verdict, rule_document
from inventory.calc.judging import Finding
from inventory.calc.plan import Aspect, PointPlan
from inventory.calc.symmetry import PairLimit
from inventory.calc.uncertainty import ReadingError

METHOD = "judging/1"
_ALWAYS = ("repeat_sd_nm", "person_sd_nm")

Row = list[Any]  # Any: numbers and short strings, as JSON holds them


class Flag(IntFlag):
    BY_FINAL_RULE = 1
    DECIDING = 2
    FROM_ONE_HALF = 4
    FAVOURABLE_LIMIT = 8


def basis_document(
    plans: Iterable[PointPlan], *, size_label: str, shelf: Rule, claim: Rule
) -> dict[str, Any]:  # Any: JSON
    """Everything common to the pieces of one size judged alike: plans and rules, as JSON values."""
    return {
        "method": METHOD,
        "size": size_label,
        "points": [_plan_document(plan) for plan in plans],
        "shelf_rule": rule_document(shelf),
        "claim_rule": rule_document(claim),
    }


def digest_of(document: Mapping[str, Any]) -> str:  # Any: JSON
    """SHA-256 of the document's canonical JSON: sorted keys, no spaces."""
    canonical = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()


def read_plans(document: Mapping[str, Any]) -> dict[str, PointPlan]:  # Any: JSON
    """The plans of a basis document, by point code."""
    plans = {}
    for point in document["points"]:
        pair = point["pair_limit"]
        plans[point["code"]] = PointPlan(
            **{
                **point,
                "pair_limit": None if pair is None else PairLimit(**pair),
                "error": ReadingError(**point["error"]),
            }
        )
    return plans


def write_row(finding: Finding, plan: PointPlan) -> Row:
    """One aspect of one point as a JSON list."""
    flags = Flag(0)
    if finding.by_final_rule:
        flags |= Flag.BY_FINAL_RULE
    if finding.deciding:
        flags |= Flag.DECIDING
    if finding.from_one_half:
        flags |= Flag.FROM_ONE_HALF
    pair = plan.pair_limit
    if finding.aspect is Aspect.PAIR and pair is not None and finding.upper_nm != pair.limit_nm:
        flags |= Flag.FAVOURABLE_LIMIT
    return [
        finding.aspect.value,
        finding.value_nm,
        finding.u_nm,
        finding.shelf_guard_nm,
        finding.claim_guard_nm,
        finding.readings,
        finding.shelf.value,
        finding.claim.value,
        finding.beyond_nm,
        int(flags),
    ]


def write_rows(
    found: Mapping[str, Iterable[Finding]], *, plans: Mapping[str, PointPlan]
) -> dict[str, list[Row]]:
    """All findings of a piece, by point code."""
    return {
        code: [write_row(finding, plans[code]) for finding in of_point] for code, of_point in found.items()
    }


def read_rows(
    rows: Mapping[str, list[Row]], *, plans: Mapping[str, PointPlan]
) -> dict[str, tuple[Finding, ...]]:
    """The findings of a stored verdict; limits come from the plans it was judged on."""
    return {code: tuple(_read_row(row, plans[code]) for row in of_point) for code, of_point in rows.items()}


def _read_row(row: Row, plan: PointPlan) -> Finding:
    aspect, value_nm, u_nm, shelf_guard_nm, claim_guard_nm, readings, shelf, claim, beyond_nm, bits = row
    flags = Flag(bits)
    nominal_nm, limits = _asked_of(Aspect(aspect), plan, favourable=Flag.FAVOURABLE_LIMIT in flags)
    return Finding(
        aspect=Aspect(aspect),
        value_nm=value_nm,
        nominal_nm=nominal_nm,
        lower_nm=limits.lower_nm,
        upper_nm=limits.upper_nm,
        u_nm=u_nm,
        readings=readings,
        shelf=Verdict(shelf),
        shelf_guard_nm=shelf_guard_nm,
        claim=Verdict(claim),
        claim_guard_nm=claim_guard_nm,
        beyond_nm=beyond_nm,
        by_final_rule=Flag.BY_FINAL_RULE in flags,
        deciding=Flag.DECIDING in flags,
        from_one_half=Flag.FROM_ONE_HALF in flags,
    )


def _asked_of(aspect: Aspect, plan: PointPlan, *, favourable: bool) -> tuple[int, Limits]:
    if aspect is Aspect.FULL:
        return plan.full_nominal_nm, plan.full_limits
    if aspect is Aspect.PAIR:
        pair = plan.pair_limit
        limit_nm = 0 if pair is None else pair.limit_nm
        if pair is not None and favourable and pair.favourable_limit_nm is not None:
            limit_nm = pair.favourable_limit_nm
        return 0, Limits(-limit_nm, limit_nm)
    return plan.nominal_nm, plan.limits


def _plan_document(plan: PointPlan) -> dict[str, Any]:  # Any: JSON
    """A plan as JSON values; what a study or a budget adds only where there is any, so that digests stay."""
    error = {key: value for key, value in dataclasses.asdict(plan.error).items() if key in _ALWAYS or value}
    return {**dataclasses.asdict(plan), "error": error}
