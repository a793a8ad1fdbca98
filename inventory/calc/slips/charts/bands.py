"""What the other sizes leave to one figure: a narrow band where grading is orderly, a wide one that honest
grading does not leave.

Between two neighbours the steps before and after have to add up to what lies between them; both lie between
the mean of the two and the step farther out on their side. So +20, +20, +25, +25 leaves no doubt about any
figure, and one wrong figure leaves no doubt which. At the end of a run the last step may be another than the
one before it, between four tenths and twice; usual breaks, a quarter or half more, are never asked about.
With two sizes only a stated step tells more than their ratio.
All these widths are common practice without a written source.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain, pairwise
from typing import Final

from inventory.calc.length import NM_PER_MM
from inventory.calc.slips.charts.rows import ChartRow

_TIGHT_SHARE: Final = 0.15
# A step of 2 in grows to 2 1/2 in, one of 1 in to 1 1/2 in, and what hardly grows may double or halve.
_BREAKS: Final = (0.8, 1.25)
_BREAKS_OF_SMALLER: Final = ((30 * NM_PER_MM, (2 / 3, 1.5)), (13 * NM_PER_MM, (0.5, 2.0)))
_SMALLEST_LAST, _LARGEST_LAST = 0.4, 2.0
_OF_STATED: Final = 0.5
_LAST_NM: Final = 6.5 * NM_PER_MM
"""Where nothing rose so far, or hardly, the last size may rise by this: a quarter inch."""
_MIDDLE_OF_THREE: Final = 0.35
_OF_TWO_TIGHT: Final = (0.75, 1.35)
_OF_TWO: Final = (0.6, 1.6)


@dataclass(frozen=True, slots=True)
class Band:
    """Narrow and wide limits (nm) of one figure.

    `breaks` are the figures that a usual size break would lead to; `decides` says that nothing but rounding
    is left to the figure.
    """

    lower: float
    upper: float
    wide_lower: float
    wide_upper: float
    breaks: tuple[float, ...] = ()
    decides: bool = False

    @property
    def middle_nm(self) -> int:
        """What is expected here (nm)."""
        return round((self.lower + self.upper) / 2)

    def off_nm(self, nm: int) -> float:
        """How far a figure lies outside the narrow limits."""
        return max(self.lower - nm, nm - self.upper, 0.0)

    def is_break(self, nm: int, *, slack_nm: float) -> bool:
        """Whether a usual size break leads to the figure."""
        return any(abs(nm - usual) <= slack_nm for usual in self.breaks)

    def wide_off_nm(self, nm: int) -> float:
        """How far a figure lies outside the wide limits."""
        return max(self.wide_lower - nm, nm - self.wide_upper, 0.0)


def band_of(row: ChartRow, at: int) -> Band | None:
    """The band of one figure by the others of its row; None when it stands alone.

    >>> from inventory.calc.length import Unit, parse
    >>> from inventory.calc.slips.charts.rows import Figure
    >>> figures = [Figure(str(size), parse(str(mm), unit=Unit.MM))
    ...            for size, mm in ((22, 304), (24, 329), (26, 345), (28, 379))]
    >>> band_of(ChartRow("WA", "half", figures, [0, 1, 2, 3]), 2).middle_nm
    354000000
    """
    count = len(row.figures)
    if count < 2:
        return None
    if 0 < at < count - 1:
        return _of_three(row) if count == 3 else _between(row, at)
    return _of_two(row, at) if count == 2 else _at_the_end(row, at)


def roughness(row: ChartRow) -> float:
    """How much the steps change along the row, altogether (nm); of two figures, how large the step is."""
    if len(row.figures) == 2:
        return abs(row.slopes[0] - (row.step_nm or 0))
    return sum(abs(after - before) for before, after in pairwise(row.slopes))


def _between(row: ChartRow, at: int) -> Band:
    slopes, places = row.slopes, row.places
    before, after = row.figures[at - 1].nm, row.figures[at + 1].nm
    mean = (after - before) / (places[at + 1] - places[at - 1])
    first = [mean, slopes[at - 2]] if at >= 2 else [mean]
    second = [mean, slopes[at + 1]] if at + 1 < len(slopes) else [mean]
    edges = [before + step * (places[at] - places[at - 1]) for step in first]
    edges += [after - step * (places[at + 1] - places[at]) for step in second]
    lower, upper = min(edges), max(edges)
    return Band(lower, upper, lower, upper, decides=True)


def _of_three(row: ChartRow) -> Band:
    first, middle, last = row.places
    mean = (row.figures[2].nm - row.figures[0].nm) / (last - first)
    expected = row.figures[0].nm + mean * (middle - first)
    tight, wide = (share * abs(mean) * (middle - first) for share in (_TIGHT_SHARE, _MIDDLE_OF_THREE))
    # With the first step a, the second is f times a, and both together are given.
    whole, run, rest = mean * (last - first), middle - first, last - middle
    breaks = (row.figures[0].nm + whole * run / (run + factor * rest) for factor in _factors(mean))
    return Band(expected - tight, expected + tight, expected - wide, expected + wide, tuple(breaks))


def _at_the_end(row: ChartRow, at: int) -> Band:
    slopes, places = row.slopes, row.places
    is_first = at == 0
    others = slopes[1:] if is_first else slopes[:-1]
    near = others[0] if is_first else others[-1]
    run = places[0] - places[1] if is_first else places[-1] - places[-2]
    beside_nm = row.figures[1 if is_first else -2].nm
    stated = row.step_nm
    usual = near if stated is None else float(stated)
    mean = sum(others) / len(others)
    tight = [near, usual, mean]
    breaks = tuple(beside_nm + run * step * factor for step in tight for factor in _factors(step))
    if stated is None:
        wide = [*others, _SMALLEST_LAST * near, _LARGEST_LAST * near]
    else:
        wide = [*others, *_spread([usual], _OF_STATED)]
    return replace(_from(beside_nm, run, tight, [min(wide) - _LAST_NM, max(wide) + _LAST_NM]), breaks=breaks)


def _factors(step: float) -> tuple[float, ...]:
    """How many times as large the next step may be after a usual break."""
    smaller = (factors for most_nm, factors in _BREAKS_OF_SMALLER if abs(step) <= most_nm)
    return (*_BREAKS, *chain.from_iterable(smaller))


def _of_two(row: ChartRow, at: int) -> Band:
    beside_nm = row.figures[1 - at].nm
    if row.step_nm is not None:
        run = row.places[at] - row.places[1 - at]
        wide = _spread([row.step_nm], _OF_STATED)
        return _from(beside_nm, run, [row.step_nm], [min(wide) - _LAST_NM, max(wide) + _LAST_NM])
    lower, upper, wide_lower, wide_upper = (share * beside_nm for share in (*_OF_TWO_TIGHT, *_OF_TWO))
    return Band(lower, upper, wide_lower, wide_upper)


def _spread(steps: Sequence[float], share: float) -> list[float]:
    return [step * (1 + sign * share) for step in steps for sign in (-1, 1)]


def _from(beside_nm: int, run: float, tight: Sequence[float], wide: Sequence[float]) -> Band:
    narrow_edges = [beside_nm + run * step for step in tight]
    wide_edges = [beside_nm + run * step for step in wide]
    return Band(min(narrow_edges), max(narrow_edges), min(wide_edges), max(wide_edges))
