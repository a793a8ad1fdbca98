"""Points of the operating curve: chance of passing, quality leaving, pieces to inspect."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.attributes import Plan
from inventory.calc.sampling.curves.course import Course, Floats, Whole, course_in_batch, course_of_series

ALL_AT_ONCE = 200
"""Up to so many numbers of bad pieces a curve shows every one of them."""


class Model(StrEnum):
    """How bad pieces fall into a sample: from this very batch, from a long series, or counted defects."""

    BATCH = "hypergeometric"
    SERIES = "binomial"
    DEFECTS = "Poisson"


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One quality and what the plan does with it.

    ``share`` of bad pieces (defects per piece for Poisson), ``bad`` as a number where a batch is meant.
    ``passing`` is the chance to be accepted. ``outgoing`` is the average share bad after refused batches were
    inspected whole and bad pieces replaced (AOQ). ``drawn`` are the pieces of the sample on average (ASN),
    ``inspected`` those of refused batches added (ATI); without a batch size ``inspected`` is None.
    """

    share: float
    bad: int | None
    passing: float
    outgoing: float
    drawn: float
    inspected: float | None


def passing_chance(plan: Plan, *, batch_size: int, bad: int) -> float:
    """Chance that a batch with ``bad`` bad pieces of ``batch_size`` is accepted; exact (hypergeometric).

    >>> from inventory.calc.sampling.attributes import SinglePlan
    >>> round(passing_chance(SinglePlan(5, 0, 1), batch_size=30, bad=6), 3)
    0.298

    A batch of 30 with 6 bad passes this plan three times in ten.
    """
    return batch_points(plan, batch_size=batch_size, bad=[bad])[0].passing


def say_passing(plan: Plan, *, batch_size: int, bad: int) -> str:
    """The chance of passing as a sentence.

    >>> from inventory.calc.sampling.attributes import SinglePlan
    >>> say_passing(SinglePlan(5, 0, 1), batch_size=30, bad=6)
    'A batch of 30 with 6 bad pieces passes 30 times in 100.'
    """
    chance = passing_chance(plan, batch_size=batch_size, bad=bad)
    pieces = "1 bad piece" if bad == 1 else f"{bad} bad pieces"
    return f"A batch of {batch_size} with {pieces} passes {_times(chance)}."


def batch_points(plan: Plan, *, batch_size: int, bad: Sequence[int]) -> tuple[CurvePoint, ...]:
    """The points for given numbers of bad pieces in a batch; exact.

    Raises ImpossibleInput for a plan larger than the batch or a number it cannot hold.
    """
    _check_batch(plan, batch_size)
    for number in bad:
        if not 0 <= number <= batch_size:
            raise ImpossibleInput(
                "number of bad pieces", f"{number}, of a batch of {batch_size}", "Give 0 up to the batch size"
            )
    if not bad:
        return ()
    numbers: Whole = np.asarray(bad, dtype=np.int64)
    return _points(
        plan, course_in_batch(plan, batch_size, numbers), numbers / batch_size, batch_size, list(bad)
    )


def curve(plan: Plan, *, batch_size: int, most_bad: int | None = None) -> tuple[CurvePoint, ...]:
    """The curve of the real batch, from no bad piece to ``most_bad`` (default: all), ready to draw.

    Every number up to 200 of them, else 201 numbers evenly spread. Points are exact.
    """
    top = batch_size if most_bad is None else most_bad
    step = max(1, -(-top // ALL_AT_ONCE))
    numbers = list(range(0, top + 1, step))
    return batch_points(plan, batch_size=batch_size, bad=numbers if numbers[-1] == top else [*numbers, top])


def series_points(
    plan: Plan, shares: Sequence[float], *, model: Model = Model.SERIES, batch_size: int | None = None
) -> tuple[CurvePoint, ...]:
    """The points for a long series of batches: binomial, or Poisson (``shares`` are defects per piece).

    Raises ImpossibleInput for a share below 0 or above 1 (binomial), or the model of a single batch.

    >>> from inventory.calc.sampling.attributes import SinglePlan
    >>> round(series_points(SinglePlan(52, 3, 4), [0.03])[0].passing, 4)
    0.9295
    """
    if batch_size is not None:
        _check_batch(plan, batch_size)
    counts_defects = counts_defects_of(model)
    for share in shares:
        if not 0.0 <= share <= (np.inf if counts_defects else 1.0):
            raise ImpossibleInput("share of bad pieces", share, "Give a share from 0 to 1")
    values: Floats = np.asarray(shares, dtype=np.float64)
    course = course_of_series(plan, values, batch_size, counts_defects=counts_defects)
    return _points(plan, course, values, batch_size, None)


def _points(
    plan: Plan, course: Course, shares: Floats, batch_size: int | None, bad: list[int] | None
) -> tuple[CurvePoint, ...]:
    passing = np.clip(course.passing, 0.0, 1.0)
    drawn = plan.size * (1.0 + course.second_drawn)
    whole = None
    if batch_size is not None:
        sampled = plan.size * course.accept_first + 2 * plan.size * course.accept_second
        whole = sampled + batch_size * (1.0 - passing)
    return tuple(
        CurvePoint(
            share=float(shares[index]),
            bad=None if bad is None else bad[index],
            passing=float(passing[index]),
            outgoing=float(course.outgoing[index]),
            drawn=float(drawn[index]),
            inspected=None if whole is None else float(whole[index]),
        )
        for index in range(len(shares))
    )


def _check_batch(plan: Plan, batch_size: int) -> None:
    if plan.most > batch_size:
        raise ImpossibleInput(
            "plan",
            f"of {plan.most} pieces, more than the batch of {batch_size}",
            "Inspect every piece instead",
        )


def counts_defects_of(model: Model) -> bool:
    """Whether a series counts defects; refuses the model of a single batch."""
    if model is Model.BATCH:
        raise ImpossibleInput(
            "model of a series", f'"{model}", which is for a single batch', "Take binomial or Poisson"
        )
    return model is Model.DEFECTS


def _times(chance: float) -> str:
    """A chance as so many times in 100, never rounded up to always or down to never."""
    if chance in (0.0, 1.0):
        return "never" if chance == 0.0 else "always"
    times = f"{100 * chance:.0f}"
    if times == "0":
        return "less than once in 200"
    if times == "100":
        return "more than 199 times in 200"
    return f"{times} {'time' if times == '1' else 'times'} in 100"
