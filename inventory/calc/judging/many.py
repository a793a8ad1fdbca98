"""Judge many pieces of one size at once: the same findings as ``piece``, through arrays.

An import of ten thousand pieces is judged size by size; a property test holds both roads together.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from inventory.calc import uncertainty
from inventory.calc.conformity import Lengths, Rule
from inventory.calc.judging.arrays import Flags, ManyFindings, ManyJudged
from inventory.calc.judging.columns import Column, Counts, cut, either
from inventory.calc.judging.grading import Grader, Spread, Values
from inventory.calc.judging.piece import check_rules
from inventory.calc.judging.worst import sum_up
from inventory.calc.plan import Aspect, PointPlan, Side, columns_of
from inventory.calc.symmetry import PairLimit


@dataclass(frozen=True, slots=True, eq=False)
class ReadBy:
    """Who read, as two sums over the people (whole numbers).

    ``squares``: pieces × columns, the squared numbers of readings. ``shared``: for each paired point one
    number a piece, the number of a person's readings left times right; 0 where different people read.
    """

    squares: Lengths
    shared: Mapping[str, Lengths]


def judge_many(
    plans: Sequence[PointPlan],
    means_nm: Lengths,
    present: Flags,
    *,
    shelf: Rule,
    claim: Rule,
    readings: Counts = 1,
    people: Counts = 1,
    by: ReadBy | None = None,
    one_half_will_do: Collection[str] = (),
) -> ManyJudged:
    """Judge every row of ``means_nm`` (int64 nm, pieces × ``columns_of(plans)``) against the same plans.

    ``present`` marks the cells that were read; the others may hold anything. ``readings`` and ``people``
    are single numbers or arrays of the same shape; ``by`` says who took them, where that is known, as
    ``Taken.by`` does. ``one_half_will_do`` names, by code, the halves of
    which one side may be missing, as in ``judge_piece``. Raises ImpossibleInput for shapes that do not fit,
    lengths that are not whole numbers, and counts below one. A finding takes about 60 bytes a
    piece, with up to four findings a point: hand a very large batch over in slices.

    >>> from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF
    >>> busk = PointPlan("BU", "length", False, 300_000_000, 3_000_000, 3_000_000, "half", None,
    ...                  uncertainty.ReadingError(1_000_000, 0))
    >>> means = np.array([[300_000_000], [302_000_000], [306_000_000], [0]])
    >>> found = judge_many([busk], means, np.array([[True], [True], [True], [False]]),
    ...                    shelf=DEFAULT_SHELF, claim=DEFAULT_CLAIM)
    >>> found.shelf.tolist()
    [0, 1, 2, -1]
    """
    check_rules(shelf, claim)
    columns = columns_of(plans)
    squares = None if by is None else by.squares
    cut_up = cut(means_nm, present, readings, people, width=len(columns), squares=squares)
    cells = dict(zip(columns, cut_up, strict=True))
    grader = Grader(shelf, claim, len(means_nm))
    found = {
        (plan.code, many.aspect): many
        for plan in plans
        for many in _judge_point(
            plan,
            {side: cells[plan.code, side] for side in plan.sides},
            grader,
            shared=None if by is None else by.shared.get(plan.code),
            one_half_will_do=plan.code in one_half_will_do,
        )
    }
    return sum_up(columns, found, _missing(plans, present, one_half_will_do))


def _missing(plans: Sequence[PointPlan], present: Flags, one_half_will_do: Collection[str]) -> Flags:
    missing = ~present
    start = 0
    for plan in plans:
        end = start + len(plan.sides)
        if plan.is_half and plan.code in one_half_will_do:
            missing[:, start:end] &= ~present[:, start:end].any(axis=1, keepdims=True)
        start = end
    return missing


def _judge_point(
    plan: PointPlan,
    sides: Mapping[Side, Column],
    grader: Grader,
    *,
    shared: Lengths | None,
    one_half_will_do: bool,
) -> Iterator[ManyFindings]:
    for name, side in sides.items():
        yield _of_side(plan, name, side, grader)
    if plan.is_half and plan.paired:
        yield _of_pair_of_halves(
            plan, sides["L"], sides["R"], grader, shared=shared, one_half_will_do=one_half_will_do
        )
    elif plan.is_half:
        yield _of_closed_half(plan, sides["S"], grader)
    if plan.pair_limit is not None:
        yield _of_difference(plan, plan.pair_limit, sides["L"], sides["R"], grader, shared=shared)


def _of_side(plan: PointPlan, name: Side, side: Column, grader: Grader) -> ManyFindings:
    values = Values(
        value_nm=side.mean_nm,
        nominal_nm=plan.nominal_nm,
        lower_nm=grader.same(plan.limits.lower_nm),
        upper_nm=grader.same(plan.limits.upper_nm),
        readings=side.readings,
        there=side.there,
        deciding=not plan.judged_as_full,
    )
    spread = grader.spread(
        lambda n, p, *by: uncertainty.mean(plan.error, readings=n, people=p, alone=_alone(n, *by)),
        side.readings,
        side.people,
        *_squares(side),
    )
    return grader.grade(plan.code, Aspect(name), values, spread)


def _full(plan: PointPlan, grader: Grader) -> partial[Values]:
    return partial(
        Values,
        nominal_nm=plan.full_nominal_nm,
        lower_nm=grader.same(plan.full_limits.lower_nm),
        upper_nm=grader.same(plan.full_limits.upper_nm),
        deciding=plan.full_decides,
    )


def _twice(plan: PointPlan, side: Column, grader: Grader, *, pair_sd_nm: float) -> Spread:
    return grader.spread(
        lambda n, p, *by: uncertainty.full_from_one_half(
            plan.error, readings=n, people=p, alone=_alone(n, *by), pair_sd_nm=pair_sd_nm
        ),
        side.readings,
        side.people,
        *_squares(side),
    )


def _of_closed_half(plan: PointPlan, side: Column, grader: Grader) -> ManyFindings:
    values = _full(plan, grader)(value_nm=2 * side.mean_nm, readings=side.readings, there=side.there)
    return grader.grade(plan.code, Aspect.FULL, values, _twice(plan, side, grader, pair_sd_nm=0.0))


def _squares(*sides: Column, shared: Lengths | None = None) -> tuple[Lengths, ...]:
    """What is known of who read, as whole numbers; nothing where it is not known of every side."""
    known = [side.squares for side in sides if side.squares is not None]
    if len(known) < len(sides) or (len(sides) == 2 and shared is None):
        return ()
    return (*known, shared) if shared is not None else tuple(known)


def _alone(readings: int, *squares: int) -> float | None:
    return squares[0] / readings**2 if squares else None


def _hands(n_left: int, n_right: int, *by: int) -> uncertainty.Hands | None:
    if not by:
        return None
    left, right, shared = by
    return uncertainty.Hands(left / n_left**2, right / n_right**2, shared / (n_left * n_right))


def _of_pair_of_halves(
    plan: PointPlan,
    left: Column,
    right: Column,
    grader: Grader,
    *,
    shared: Lengths | None,
    one_half_will_do: bool,
) -> ManyFindings:
    both = left.there & right.there
    readings = np.minimum(left.readings, right.readings)
    spread = grader.spread(
        lambda n_left, n_right, p, *by: uncertainty.full_from_halves(
            plan.error,
            left_readings=n_left,
            right_readings=n_right,
            people=p,
            hands=_hands(n_left, n_right, *by),
        ),
        left.readings,
        right.readings,
        np.minimum(left.people, right.people),
        *_squares(left, right, shared=shared),
    )
    if both.all():
        values = _full(plan, grader)(value_nm=left.mean_nm + right.mean_nm, readings=readings, there=both)
        return grader.grade(plan.code, Aspect.FULL, values, spread)
    only = either(left, right)
    pair_sd_nm = uncertainty.pair_sd_from_limit(plan.unseen_pair_limit_nm)
    values = _full(plan, grader)(
        value_nm=np.where(both, left.mean_nm + right.mean_nm, 2 * only.mean_nm),
        readings=np.where(both, readings, only.readings),
        there=only.there,
        from_one_half=left.there ^ right.there,
        one_half_will_do=one_half_will_do,
    )
    guessed = _twice(plan, only, grader, pair_sd_nm=pair_sd_nm)
    return grader.grade(plan.code, Aspect.FULL, values, spread.where(both, guessed))


def _of_difference(
    plan: PointPlan,
    limit: PairLimit,
    left: Column,
    right: Column,
    grader: Grader,
    *,
    shared: Lengths | None,
) -> ManyFindings:
    limit_nm = grader.same(limit.limit_nm)
    if limit.favourable_limit_nm is not None:
        lean_nm = left.mean_nm + right.mean_nm - 2 * plan.nominal_nm
        favourable = lean_nm > 0 if limit.favourable_side == "plus" else lean_nm < 0
        limit_nm = np.where(favourable, limit.favourable_limit_nm, limit_nm)
    values = Values(
        value_nm=left.mean_nm - right.mean_nm,
        nominal_nm=0,
        lower_nm=-limit_nm,
        upper_nm=limit_nm,
        readings=np.minimum(left.readings, right.readings),
        there=left.there & right.there,
        deciding=True,
    )
    spread = grader.spread(
        lambda n_left, n_right, *by: uncertainty.difference(
            plan.error,
            left_readings=n_left,
            right_readings=n_right,
            hands=_hands(n_left, n_right, *by),
        ),
        left.readings,
        right.readings,
        *_squares(left, right, shared=shared),
    )
    return grader.grade(plan.code, Aspect.PAIR, values, spread)
