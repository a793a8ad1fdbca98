"""Judge one point and one piece: the plain road, a value at a time.

``many`` gives the same answers for whole batches; a property test holds the two together.
"""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence

from inventory.calc import uncertainty
from inventory.calc.conformity import Limits, Rule, decide, worst
from inventory.calc.errors import ImpossibleInput
from inventory.calc.judging.findings import Finding, PieceJudgement, Taken
from inventory.calc.judging.worst import badness
from inventory.calc.plan import Aspect, PointPlan, columns_of
from inventory.calc.symmetry import limit_that_applies
from inventory.calc.uncertainty import Combined


def judge_point(
    plan: PointPlan,
    taken: Mapping[str, Taken],
    *,
    shelf: Rule,
    claim: Rule,
    one_half_will_do: bool = False,
) -> tuple[Finding, ...]:
    """Judge what was taken at one point, by side code ("L", "R", "S"); fewer sides give fewer findings.

    Halves stated per half: each half decides, and so does the full girth against twice the limits.
    Halves stated for the full girth: the full girth decides, the halves are shown. A full girth is left
    plus right, or twice a single half laid closed; twice the only half read of a pair is shown with the
    wider uncertainty it deserves and does not decide, unless ``one_half_will_do`` because the other half
    cannot be read. Left against right decides where a limit is set.

    >>> from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF
    >>> waist = PointPlan("WA", "half", True, 330_000_000, 6_000_000, 6_000_000, "half", None,
    ...                   uncertainty.ReadingError(1_000_000, 0))
    >>> both = {"L": Taken(331_000_000), "R": Taken(338_000_000)}
    >>> found = judge_point(waist, both, shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
    >>> [(f.aspect.value, f.value_nm // 1_000_000, f.shelf.value, f.claim.value) for f in found]
    [('L', 331, 'in', 'in'), ('R', 338, 'out', 'close'), ('F', 669, 'in', 'in')]
    """
    check_rules(shelf, claim)
    for side in taken:
        if side not in plan.sides:
            raise ImpossibleInput(
                f"side of {plan.code}", f'"{side}"', f"Use {' or '.join(plan.sides)} for this point"
            )
    bench = _Bench(shelf, claim)
    findings = [_of_side(plan, side, taken[side], bench) for side in plan.sides if side in taken]
    findings.extend(_of_full(plan, taken, bench, one_half_will_do=one_half_will_do))
    findings.extend(_of_pair(plan, taken, bench))
    return tuple(findings)


def judge_piece(
    plans: Sequence[PointPlan],
    taken: Mapping[tuple[str, str], Taken],
    *,
    shelf: Rule,
    claim: Rule,
    one_half_will_do: Collection[str] = (),
) -> PieceJudgement:
    """Judge a piece from what was taken per (point code, side); the worst deciding finding decides.

    The verdict is None while a side is missing. Of the halves named in ``one_half_will_do``, by code, one
    side may be missing: the full girth is then twice the other. Readings of points that are not in the
    plans (of another spec revision, say) do not count.
    """
    check_rules(shelf, claim)
    columns = columns_of(plans)
    stand_ins = {
        plan.code
        for plan in plans
        if plan.code in one_half_will_do and plan.is_half and any((plan.code, s) in taken for s in plan.sides)
    }
    findings = {
        plan.code: judge_point(
            plan,
            {side: t for (code, side), t in taken.items() if code == plan.code},
            shelf=shelf,
            claim=claim,
            one_half_will_do=plan.code in stand_ins,
        )
        for plan in plans
    }
    missing = tuple(column for column in columns if column not in taken and column[0] not in stand_ins)
    deciding = [(code, f) for code, found in findings.items() for f in found if f.deciding]
    complete = bool(columns) and not missing
    worst_code, worst_finding = max(deciding, key=lambda found: badness(found[1]), default=(None, None))
    return PieceJudgement(
        shelf=worst(f.shelf for _, f in deciding) if complete else None,
        claim=worst(f.claim for _, f in deciding) if complete else None,
        worst_code=worst_code,
        worst_aspect=worst_finding.aspect if worst_finding is not None else None,
        complete=complete,
        missing=missing,
        findings=findings,
    )


def check_rules(shelf: Rule, claim: Rule) -> None:
    """Refuse rules handed over in the wrong places."""
    for rule, purpose in ((shelf, "shelf"), (claim, "claim")):
        if rule.purpose != purpose:
            raise ImpossibleInput(
                f"{purpose} rule", f"{rule.code}, a {rule.purpose} rule", "Choose a rule of its purpose"
            )


class _Bench:
    """Makes findings by a fixed pair of rules."""

    def __init__(self, shelf: Rule, claim: Rule) -> None:
        self.shelf, self.claim = shelf, claim

    def finding(
        self,
        aspect: Aspect,
        value_nm: int,
        *,
        nominal_nm: int,
        limits: Limits,
        sure: Combined,
        readings: int,
        deciding: bool,
        from_one_half: bool = False,
    ) -> Finding:
        # The cure for a guessed full girth is to read the other half: repeats never close it.
        counted = 1 if from_one_half else readings
        shelf = decide(value_nm, limits, u_nm=sure.u_nm, rule=self.shelf, readings=counted, dof=sure.dof)
        claim = decide(value_nm, limits, u_nm=sure.u_nm, rule=self.claim, readings=counted, dof=sure.dof)
        return Finding(
            aspect=aspect,
            value_nm=value_nm,
            nominal_nm=nominal_nm,
            lower_nm=limits.lower_nm,
            upper_nm=limits.upper_nm,
            u_nm=math.ceil(sure.u_nm),
            readings=readings,
            shelf=shelf.verdict,
            shelf_guard_nm=shelf.guard_nm,
            claim=claim.verdict,
            claim_guard_nm=claim.guard_nm,
            beyond_nm=shelf.beyond_nm,
            by_final_rule=shelf.by_final_rule,
            deciding=deciding,
            from_one_half=from_one_half,
        )


def _of_side(plan: PointPlan, side: str, taken: Taken, bench: _Bench) -> Finding:
    return bench.finding(
        Aspect(side),
        taken.mean_nm,
        nominal_nm=plan.nominal_nm,
        limits=plan.limits,
        sure=uncertainty.mean(plan.error, readings=taken.readings, people=taken.people, alone=taken.alone),
        readings=taken.readings,
        deciding=not plan.judged_as_full,
    )


def _of_full(
    plan: PointPlan, taken: Mapping[str, Taken], bench: _Bench, *, one_half_will_do: bool
) -> Iterator[Finding]:
    if not plan.is_half or not taken:
        return
    sides = [taken[side] for side in plan.sides if side in taken]
    readings = min(side.readings for side in sides)
    people = min(side.people for side in sides)
    guessed = plan.paired and len(sides) == 1
    if len(sides) == 2:
        value_nm = sides[0].mean_nm + sides[1].mean_nm
        sure = uncertainty.full_from_halves(
            plan.error,
            left_readings=sides[0].readings,
            right_readings=sides[1].readings,
            people=people,
            hands=sides[0].with_other(sides[1]),
        )
    else:
        value_nm = 2 * sides[0].mean_nm
        pair_sd_nm = uncertainty.pair_sd_from_limit(plan.unseen_pair_limit_nm) if guessed else 0.0
        sure = uncertainty.full_from_one_half(
            plan.error, readings=readings, people=people, alone=sides[0].alone, pair_sd_nm=pair_sd_nm
        )
    yield bench.finding(
        Aspect.FULL,
        value_nm,
        nominal_nm=plan.full_nominal_nm,
        limits=plan.full_limits,
        sure=sure,
        readings=readings,
        deciding=plan.full_decides and (one_half_will_do or not guessed),
        from_one_half=guessed,
    )


def _of_pair(plan: PointPlan, taken: Mapping[str, Taken], bench: _Bench) -> Iterator[Finding]:
    if plan.pair_limit is None or not {"L", "R"} <= taken.keys():
        return
    left, right = taken["L"], taken["R"]
    sure = uncertainty.difference(
        plan.error,
        left_readings=left.readings,
        right_readings=right.readings,
        hands=left.with_other(right),
    )
    limit_nm, _ = limit_that_applies(
        left.mean_nm, right.mean_nm, nominal_nm=plan.nominal_nm, limit=plan.pair_limit
    )
    yield bench.finding(
        Aspect.PAIR,
        left.mean_nm - right.mean_nm,
        nominal_nm=0,
        limits=Limits(-limit_nm, limit_nm),
        sure=sure,
        readings=min(left.readings, right.readings),
        deciding=True,
    )
