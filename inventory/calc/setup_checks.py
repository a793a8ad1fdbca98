"""What is better said when a spec is set up than found out at the bench; see also `setup_narrow`.

Two mistakes can be seen before a single piece arrives. A tolerance of half the grade step or more lets a
piece of one size pass as its neighbour. A tolerance no wider than the guard band of a reading cannot be
met by any single reading, however good the piece: then repeats, another pair of hands or a wider
tolerance are needed. Both are warnings: the shop may know better.

Both rules are common practice, no source.
"""

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.calc import uncertainty
from inventory.calc.conformity import Limits, Rule, guard_nm
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Display, show, show_uncertainty
from inventory.calc.plan import PointPlan
from inventory.calc.uncertainty import Combined


class WarningKind(StrEnum):
    """Limits of neighbouring sizes meet or cross; a point that one reading cannot settle, seldom settles, or
    that none can."""

    MEET = "meet"
    CROSS = "cross"
    REPEATS_USUAL = "repeats-usual"
    REPEATS_NEEDED = "repeats-needed"
    NEVER_JUDGEABLE = "never-judgeable"


@dataclass(frozen=True, slots=True)
class SetupWarning:
    """A warning in plain words, with what it is about; ``repeats`` that would help, where some would."""

    kind: WarningKind
    point: str
    sizes: tuple[str, ...]
    message: str
    repeats: int | None = None


@dataclass(frozen=True, slots=True)
class SizeRow:
    """Nominal and tolerance (nm) of one point in one size; minus and plus without a sign."""

    size: str
    nominal_nm: int
    minus_nm: int
    plus_nm: int

    def __post_init__(self) -> None:
        if self.minus_nm < 0 or self.plus_nm < 0:
            raise ImpossibleInput(
                f"tolerance of size {self.size}", "below zero", "Give minus and plus without a sign"
            )

    @property
    def limits(self) -> Limits:
        """Lower and upper limit (nm)."""
        return Limits(self.nominal_nm - self.minus_nm, self.nominal_nm + self.plus_nm)


def overlap(point: str, rows: Sequence[SizeRow], *, display: Display) -> tuple[SetupWarning, ...]:
    """Warn where the limits of neighbouring sizes meet or cross.

    ``rows`` are in the order of the sizes, all on the same basis. Neighbours with the same nominal are
    not graded at this point and give no warning.

    >>> from inventory.calc.length import Unit
    >>> mm = 1_000_000
    >>> chart = [SizeRow("26", 330 * mm, 13 * mm, 13 * mm), SizeRow("28", 355 * mm, 13 * mm, 13 * mm)]
    >>> print(overlap("WA", chart, display=Display(Unit.MM))[0].message)
    WA: sizes 26 and 28 cross: 26 ends at 343 mm, 28 begins at 342 mm, so one piece can pass as either. \
The step is 25 mm; keep plus of 26 and minus of 28 together under it (now 26 mm).
    """
    return tuple(
        _neighbours(point, *pair, display=display)
        for pair in itertools.pairwise(rows)
        if pair[0].nominal_nm != pair[1].nominal_nm and _gap_nm(*pair) <= 0
    )


def _by_nominal(one: SizeRow, other: SizeRow) -> tuple[SizeRow, SizeRow]:
    return (one, other) if one.nominal_nm <= other.nominal_nm else (other, one)


def _gap_nm(one: SizeRow, other: SizeRow) -> int:
    smaller, larger = _by_nominal(one, other)
    return larger.limits.lower_nm - smaller.limits.upper_nm


def _neighbours(point: str, one: SizeRow, other: SizeRow, *, display: Display) -> SetupWarning:
    smaller, larger = _by_nominal(one, other)
    kind = WarningKind.MEET if _gap_nm(smaller, larger) == 0 else WarningKind.CROSS
    step_nm = larger.nominal_nm - smaller.nominal_nm
    both_nm = smaller.plus_nm + larger.minus_nm
    where = f"{smaller.size} ends at {show(smaller.limits.upper_nm, display)}, "
    where += f"{larger.size} begins at {show(larger.limits.lower_nm, display)}"
    message = (
        f"{point}: sizes {smaller.size} and {larger.size} {kind}: {where}, so one piece can pass as either. "
        f"The step is {show(step_nm, display)}; keep plus of {smaller.size} and minus of {larger.size} "
        f"together under it (now {show(both_nm, display)})."
    )
    return SetupWarning(kind, point, (smaller.size, larger.size), message)


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that will be judged at a point: its limits, and how sure n readings by p people each are."""

    words: str
    nominal_nm: int
    limits: Limits
    sure_of: Callable[[int, int], Combined]

    def guard_nm(self, rule: Rule, readings: int, people: int) -> int:
        """Guard band (nm) for so many readings a side by so many people."""
        sure = self.sure_of(readings, people)
        return guard_nm(sure.u_nm, rule, dof=sure.dof)


def judgeable(plan: PointPlan, rule: Rule, *, display: Display) -> tuple[SetupWarning, ...]:
    """Warn where one reading cannot settle what will be judged at this point: a side, the full girth, or
    left against right. Says how many repeats would, by one person or by as many people, or that none
    would within ``rule.max_repeats``.

    >>> from inventory.calc.conformity import DEFAULT_SHELF
    >>> from inventory.calc.length import Unit
    >>> from inventory.calc.uncertainty import ReadingError
    >>> hip = PointPlan("HH", "length", False, 430_000_000, 3_000_000, 3_000_000, "half", None,
    ...                 ReadingError(2_000_000, 0))
    >>> print(judgeable(hip, DEFAULT_SHELF, display=Display(Unit.MM))[0].message)
    HH: one reading cannot settle whether a side is in tolerance: the guard band of 3.3 mm leaves nothing \
of the ±3 mm. The mean of 2 readings can.
    """
    return tuple(
        _cannot_be_judged(plan.code, question, rule, display)
        for question in questions_of(plan)
        if leaves_nothing(question, rule, 1, 1)
    )


def questions_of(plan: PointPlan) -> Iterator[Question]:
    """What will be judged at a point: a side or the full girth, and left against right if limited."""
    error = plan.error
    if not plan.judged_as_full:
        yield Question(
            "a side is in tolerance",
            plan.nominal_nm,
            plan.limits,
            lambda n, p: uncertainty.mean(error, readings=n, people=p),
        )
    elif plan.paired:
        yield Question(
            "the full girth is in tolerance",
            plan.full_nominal_nm,
            plan.full_limits,
            lambda n, p: uncertainty.full_from_halves(error, left_readings=n, right_readings=n, people=p),
        )
    else:
        yield Question(
            "the full girth is in tolerance",
            plan.full_nominal_nm,
            plan.full_limits,
            lambda n, p: _twice(uncertainty.mean(error, readings=n, people=p)),
        )
    if plan.pair_limit is not None:
        yield Question(
            "left and right match",
            0,
            Limits(-plan.pair_limit.limit_nm, plan.pair_limit.limit_nm),
            lambda n, _: uncertainty.difference(error, left_readings=n, right_readings=n),
        )


def _twice(half: Combined) -> Combined:
    return Combined(2 * half.u_nm, half.dof)


def leaves_nothing(question: Question, rule: Rule, readings: int, people: int) -> bool:
    """Whether the guard band of so many readings a side leaves no value that would be in tolerance."""
    band_nm = 2 * question.guard_nm(rule, readings, people)
    width_nm = question.limits.upper_nm - question.limits.lower_nm
    # A guard band of exactly half the limits leaves one nanometre: that is nothing at a bench.
    return band_nm > width_nm or band_nm == width_nm > 0


def _cannot_be_judged(point: str, question: Question, rule: Rule, display: Display) -> SetupWarning:
    tries = range(2, rule.max_repeats + 1)
    alone = next((n for n in tries if not leaves_nothing(question, rule, n, 1)), None)
    together = next((n for n in tries if not leaves_nothing(question, rule, n, n)), None)
    if alone is not None:
        cure = f"The mean of {alone} readings can."
    elif together is not None:
        cure = f"The mean of {together} readings by {together} different people can; repeats by one cannot."
    else:
        cure = (
            f"No mean of up to {rule.max_repeats} readings can either: widen the tolerance, or find a way to "
            "read this point that repeats better."
        )
    band = show_uncertainty(question.guard_nm(rule, 1, 1), display)
    message = (
        f"{point}: one reading cannot settle whether {question.words}: the guard band of {band} leaves "
        f"nothing of the {allowance_of(question, display)}. {cure}"
    )
    repeats = alone if alone is not None else together
    kind = WarningKind.NEVER_JUDGEABLE if repeats is None else WarningKind.REPEATS_NEEDED
    return SetupWarning(kind, point, (), message, repeats)


def allowance_of(question: Question, display: Display) -> str:
    """The tolerance in words: ±6 mm, or −3 mm to +6 mm."""
    minus_nm = question.nominal_nm - question.limits.lower_nm
    plus_nm = question.limits.upper_nm - question.nominal_nm
    if minus_nm == plus_nm:
        return f"±{show(plus_nm, display)}"
    return f"−{show(minus_nm, display)} to +{show(plus_nm, display)}"
