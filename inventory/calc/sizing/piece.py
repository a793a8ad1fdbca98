"""The size of one piece, from its mean readings: the plain road."""

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.calc.conformity import Limits
from inventory.calc.errors import ImpossibleInput
from inventory.calc.plan import PointPlan

Grid = Mapping[str, Mapping[str, PointPlan]]
Cell = tuple[str, str]


@dataclass(frozen=True, slots=True)
class SizeAnswer:
    """What the readings say about the size.

    ``size`` is the labelled size when that fits, else the best other one, or None when none fits.
    ``suspected`` says that the label is wrong and another size is right. ``margin_nm`` is the room at the
    tightest point of that size, and ``tightest`` that point's code and side ("F" for a full girth).
    ``compared`` counts the readings compared: with one or two, a suspicion is weak.
    """

    labelled_fits: bool
    suspected: bool
    size: str | None
    margin_nm: int | None
    tightest: Cell | None
    compared: int


def fit_sizes(taken_means: Mapping[Cell, int], grid: Grid, *, labelled: str) -> SizeAnswer:
    """Name the size that the mean readings (nm, by point code and side) fit.

    ``grid`` holds the plans by size label (in order) and point code. Readings of points the labelled size
    does not have are left out; a size that lacks one of the others cannot be named. Of two sizes with
    the same margin the first is named. Raises ImpossibleInput for an unknown label, or when there is
    nothing to compare.

    >>> from inventory.calc.uncertainty import ReadingError
    >>> def waist(nominal_nm):
    ...     return {"WA": PointPlan("WA", "half", True, nominal_nm, 6_000_000, 6_000_000, "half", None,
    ...                             ReadingError(1_000_000, 0))}
    >>> chart = {"26": waist(330_000_000), "28": waist(355_000_000)}
    >>> fit_sizes({("WA", "L"): 354_000_000, ("WA", "R"): 357_000_000}, chart,
    ...           labelled="26")  # doctest: +NORMALIZE_WHITESPACE
    SizeAnswer(labelled_fits=False, suspected=True, size='28', margin_nm=4000000, tightest=('WA', 'R'),
               compared=2)
    """
    label = plans_of(labelled, grid)
    compared = sum(1 for plan in label.values() for side in plan.sides if (plan.code, side) in taken_means)
    own = _tightest(taken_means, label, label)
    if own is None:
        raise ImpossibleInput(
            "number of readings to compare", 0, f"Read at least one point of size {labelled} first"
        )
    margin_nm, cell = own
    if margin_nm >= 0:
        return SizeAnswer(
            labelled_fits=True,
            suspected=False,
            size=labelled,
            margin_nm=margin_nm,
            tightest=cell,
            compared=compared,
        )
    found = None
    for size, plans in grid.items():
        tried = _tightest(taken_means, plans, label) if size != labelled else None
        if tried is not None and tried[0] > margin_nm:
            margin_nm, cell = tried
            found = size
    fits = found is not None and margin_nm >= 0
    return SizeAnswer(
        labelled_fits=False,
        suspected=fits,
        size=found if fits else None,
        margin_nm=margin_nm if fits else None,
        tightest=cell if fits else None,
        compared=compared,
    )


def plans_of(labelled: str, grid: Grid) -> Mapping[str, PointPlan]:
    """The plans of the labelled size; refuses a label that is not in the grid."""
    if labelled not in grid:
        raise ImpossibleInput("size on the label", f'"{labelled}"', f"Use one of {', '.join(grid)}")
    return grid[labelled]


def _tightest(
    means_nm: Mapping[Cell, int], plans: Mapping[str, PointPlan], label: Mapping[str, PointPlan]
) -> tuple[int, Cell] | None:
    """The least room (nm, below zero when outside) and where; None when the sizes cannot be compared."""
    least: tuple[int, Cell] | None = None
    for code, of_label in label.items():
        if not _values(of_label, means_nm):
            continue
        values = _values(plans[code], means_nm) if code in plans else []
        if not values:
            return None
        for aspect, value_nm, limits in values:
            room_nm = min(value_nm - limits.lower_nm, limits.upper_nm - value_nm)
            if least is None or room_nm < least[0]:
                least = room_nm, (code, aspect)
    return least


def _values(plan: PointPlan, means_nm: Mapping[Cell, int]) -> list[tuple[str, int, Limits]]:
    """What is compared at one point: the sides as read, or the full girth where the tolerance is for it."""
    read = [(side, means_nm[plan.code, side]) for side in plan.sides if (plan.code, side) in means_nm]
    if not plan.judged_as_full:
        return [(side, mean_nm, plan.limits) for side, mean_nm in read]
    if not read:
        return []
    return [("F", sum(mean_nm for _, mean_nm in read) * 2 // len(read), plan.full_limits)]
