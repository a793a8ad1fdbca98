"""One sample, a decision per class of defect: critical, major, minor, each with its own quality limit.

Arrows can give the classes samples of different sizes. The largest is drawn, and each class is judged on its
own first pieces in the drawn order; that keeps each class's plan what the table says, and nobody may choose
which pieces count. A piece counts as bad once, in the worst class found on it (MIL-STD-105E, 3: a major
defective "may also contain minor defects"). Critical defects have no acceptance number: one, on any piece
that was looked at, refuses the batch. Switching is kept for each class by itself.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes.choosing import MOST_AS_PERCENT, Choice, choose_plan
from inventory.calc.sampling.attributes.curtailment import Decision, Running, running_decision
from inventory.calc.sampling.attributes.kinds import DefectClass, Edition, Level, Plan, Severity, SinglePlan


@dataclass(frozen=True, slots=True)
class ClassPlans:
    """The plan of each class for one batch; ``choices`` lacks critical, which needs no table.

    ``most`` is the most pieces the plans together can ask for; critical is judged on all that were seen.
    """

    batch_size: int
    plans: Mapping[DefectClass, Plan]
    choices: Mapping[DefectClass, Choice]

    @property
    def most(self) -> int:
        """The most pieces to inspect, by the class that asks for most."""
        return max(plan.most for plan in self.plans.values())

    @property
    def first(self) -> int:
        """The pieces to draw at first: the largest first sample of any class.

        Critical has no sample of its own: it is looked for on every piece the others ask for.
        """
        return max(plan.size for one, plan in self.plans.items() if one is not DefectClass.CRITICAL)

    @property
    def notes(self) -> tuple[str, ...]:
        """How many pieces to draw, which of them each class is judged on, and the notes of its plan."""
        sizes = {one: choice.plan.size for one, choice in self.choices.items()}
        draw = f"Draw {self.first} pieces; critical defects are looked for on every one."
        fewer = tuple(
            f"{one.capitalize()} defects are judged on the first {size} drawn."
            for one, size in sizes.items()
            if size < self.first
        )
        found = tuple(
            f"{one.capitalize()}: {note}" for one, choice in self.choices.items() for note in choice.notes
        )
        return (draw, *fewer, *found)


@dataclass(frozen=True, slots=True)
class ClassVerdict:
    """The batch's decision and each class's standing; ``words`` gives the reasons, worst class first."""

    decision: Decision
    inspected: int
    standings: Mapping[DefectClass, Running]
    words: tuple[str, ...]

    @property
    def may_stop(self) -> bool:
        """Whether the rest of the sample cannot change the decision."""
        return self.decision is not Decision.GO_ON


def plan_classes(
    batch_size: int,
    aqls: Mapping[DefectClass, Decimal],
    *,
    level: Level = Level.II,
    severities: Mapping[DefectClass, Severity] | None = None,
    edition: Edition = Edition.MIL_105E,
    double: bool = False,
) -> ClassPlans:
    """The plans of a batch: major and minor from the tables by their AQLs, critical with zero accepted.

    Critical is always looked for on every piece the others ask for; an AQL given for it is refused, since
    it would allow some. Raises ImpossibleInput for that, for no class at all, and as choose_plan does.

    >>> plans = plan_classes(80, {DefectClass.MAJOR: Decimal("2.5"), DefectClass.MINOR: Decimal("4.0")})
    >>> [f"{one}: {plan}" for one, plan in plans.plans.items()][:2]
    ['critical: 20 pieces, accept with 0, refuse with 1', 'major: 20 pieces, accept with 1, refuse with 2']
    """
    if DefectClass.CRITICAL in aqls:
        raise ImpossibleInput(
            "quality limit of critical defects",
            aqls[DefectClass.CRITICAL],
            "Leave it out; no critical defect is ever accepted",
        )
    if not aqls:
        raise ImpossibleInput("quality limits", "an empty list", "Give one for major or minor defects")
    for one, aql in aqls.items():
        if aql > MOST_AS_PERCENT:
            raise ImpossibleInput(
                f"quality limit of {one} defects",
                f"{aql}, which counts defects per 100 pieces",
                f"Take {MOST_AS_PERCENT} or less; here each bad piece counts once",
            )
    earned = severities or {}
    choices = {
        one: choose_plan(
            batch_size,
            aqls[one],
            level=level,
            severity=earned.get(one, Severity.NORMAL),
            edition=edition,
            double=double,
        )
        for one in DefectClass
        if one in aqls
    }
    most = max(choice.plan.most for choice in choices.values())
    others = {one: choice.plan for one, choice in choices.items()}
    return ClassPlans(batch_size, {DefectClass.CRITICAL: SinglePlan(most, 0, 1), **others}, choices)


def judge_classes(plans: ClassPlans, pieces: Sequence[DefectClass | None]) -> ClassVerdict:
    """The decision so far: ``pieces`` holds the worst class found on each piece in drawn order, None if good.

    Refused as soon as one class refuses for certain; accepted once all accept for certain. Critical cannot
    be accepted early: every piece the other classes ask for is looked at for it.

    >>> plans = plan_classes(80, {DefectClass.MAJOR: Decimal("2.5"), DefectClass.MINOR: Decimal("4.0")})
    >>> judge_classes(plans, [None, DefectClass.MAJOR, None, DefectClass.MAJOR]).words
    ('Major: 2 bad in 4 pieces: refused, whatever the other 16 show. Inspection of the sample may stop.',)
    """
    return judge_by_place(plans, {place: pieces[place - 1] for place in range(1, len(pieces) + 1)})


def judge_by_place(plans: ClassPlans, pieces: Mapping[int, DefectClass | None]) -> ClassVerdict:
    """As judge_classes, for pieces that came in any order: by their place in the draw, from 1.

    Which piece was measured first changes nothing: each class counts the pieces of its own places. Of a
    double plan the second sample counts once the first is complete.

    >>> plans = plan_classes(80, {DefectClass.MAJOR: Decimal("2.5"), DefectClass.MINOR: Decimal("4.0")})
    >>> judge_by_place(plans, {20: DefectClass.MAJOR, 3: DefectClass.MAJOR}).decision
    <Decision.REFUSE: 'refuse'>
    """
    others: dict[DefectClass, Running] = {
        one: running_decision(plan, [int(found is one) for found in _counted(plan, pieces)])
        for one, plan in plans.plans.items()
        if one is not DefectClass.CRITICAL
    }
    seen = list(pieces.values())
    standings = {DefectClass.CRITICAL: _critical(seen, others.values()), **others}
    decision = _together([one.decision for one in standings.values()])
    shown = [
        (one, standing)
        for one, standing in standings.items()
        if decision is not Decision.REFUSE or standing.decision is Decision.REFUSE
    ]
    words = tuple(f"{one.capitalize()}: {standing.words}" for one, standing in shown)
    return ClassVerdict(decision, len(seen), standings, words)


def _counted(plan: Plan, pieces: Mapping[int, DefectClass | None]) -> list[DefectClass | None]:
    """What was found on the pieces a plan counts, in drawn order."""
    first = [pieces[place] for place in sorted(pieces) if place <= plan.size]
    if len(first) < plan.size:
        return first
    return first + [pieces[place] for place in sorted(pieces) if plan.size < place <= plan.most]


def _critical(pieces: Sequence[DefectClass | None], others: Iterable[Running]) -> Running:
    """Critical is judged on every piece seen, and asks for as many pieces as the other classes ask for."""
    asked = max([len(pieces), *(one.inspected + one.left for one in others)])
    return running_decision(SinglePlan(asked, 0, 1), [int(found is DefectClass.CRITICAL) for found in pieces])


def _together(decisions: Sequence[Decision]) -> Decision:
    if Decision.REFUSE in decisions:
        return Decision.REFUSE
    return Decision.GO_ON if Decision.GO_ON in decisions else Decision.ACCEPT
