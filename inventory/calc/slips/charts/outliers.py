"""The odd figures of one row, one after the other: the one whose absence smooths the row most comes first.

A wrong figure makes its neighbours look wrong too, so each is judged with the odd ones before it taken out.
How far the rest of the row swings by itself, as charts rounded coarsely do, widens the band of each.
"""

import math
from statistics import median
from typing import Final, NamedTuple

from inventory.calc.length import NM_PER_MM
from inventory.calc.slips.charts.bands import Band, band_of, roughness
from inventory.calc.slips.charts.explained import fraction_behind, slip_behind
from inventory.calc.slips.charts.in_force import off_in_force
from inventory.calc.slips.charts.rows import ChartRow, Odd
from inventory.calc.slips.charts.wording import SAME_NM, question
from inventory.calc.slips.kinds import Slip, SlipKind

_MOST_SWING_NM: Final = 10 * NM_PER_MM
_OTHER_UNIT: Final = math.log(2.2)
_OTHER_UNIT_NM: Final = 50 * NM_PER_MM
_EVEN_NM: Final = NM_PER_MM
_WORTH_ASKING_NM: Final = 3 * NM_PER_MM
"""What no slip explains is asked about when it is off by more than rounding and this."""


class _Doubtful(NamedTuple):
    """A figure that may be odd: where, what is expected, the slip, and how rough the row is without it."""

    at: int
    band: Band
    slip: Slip | None
    rest: float

    @property
    def rank(self) -> tuple[float, bool]:
        """Smallest first: the smoothest rest, then what a slip explains."""
        return round(self.rest / _EVEN_NM), self.slip is None


def look_along(row: ChartRow) -> tuple[Odd, ...]:
    """The figures of a row that look like slips, in the order of the run.

    >>> from inventory.calc.length import Unit, parse
    >>> from inventory.calc.slips.charts.rows import Figure
    >>> figures = [Figure(str(size), parse(mm, unit=Unit.MM))
    ...            for size, mm in ((22, "304"), (24, "329"), (26, "345"), (28, "379"))]
    >>> print(look_along(ChartRow("WA", "half", figures, [0, 1, 2, 3]))[0].question)
    Typed 345 mm, but the other sizes lead to 354 mm. Are two figures swapped, is it 354 mm?
    """
    found: dict[str, Odd] = {}
    rest = _by_the_text(row, found)
    rest = _of_another_unit(rest, found)
    most = max(len(rest.figures) // 2, 1)
    for _ in range(most):
        doubtful = [one for at in range(len(rest.figures)) if (one := _doubtful(rest, at)) is not None]
        if not doubtful:
            break
        odd = _told_apart(rest, doubtful)
        for one in odd:
            _add(found, rest, one.at, beside_nm=one.band.middle_nm, slip=one.slip)
        for one in reversed(odd):
            rest = rest.without(one.at)
    for at, slip in off_in_force(rest):
        _add(found, rest, at, beside_nm=None, slip=slip)
    return tuple(found[figure.size] for figure in row.figures if figure.size in found)


def _told_apart(row: ChartRow, doubtful: list[_Doubtful]) -> list[_Doubtful]:
    """The one that is odd; of three figures, where each two make a step, all that a slip explains."""
    explained = [one for one in doubtful if one.slip is not None]
    if len(row.figures) == 3 and explained:
        return explained
    return [min(doubtful, key=lambda one: one.rank)]


def _by_the_text(row: ChartRow, found: dict[str, Odd]) -> ChartRow:
    """The row without the figures whose decimals are those of a fraction."""
    rest = row
    for at in reversed(range(len(row.figures))):
        others = [figure.typed for place, figure in enumerate(row.figures) if place != at]
        suggestion_nm = fraction_behind(row.figures[at].typed, others)
        if suggestion_nm is not None:
            slip = Slip(SlipKind.FRACTION_AS_DECIMALS, suggestion_nm, "")
            _add(found, row, at, beside_nm=None, slip=slip)
            rest = rest.without(at)
    return rest


def _of_another_unit(row: ChartRow, found: dict[str, Odd]) -> ChartRow:
    """The row without the figures that are many times, or a small part of, what most of it is."""
    if len(row.figures) < 3:
        return row
    middle_nm = median(figure.nm for figure in row.figures)
    far = [
        at
        for at, figure in enumerate(row.figures)
        if abs(figure.nm - middle_nm) > _OTHER_UNIT_NM and abs(math.log(figure.nm / middle_nm)) > _OTHER_UNIT
    ]
    if len(far) * 2 >= len(row.figures):
        return row
    rest = row
    for at in reversed(far):
        rest = rest.without(at)
    for at in far:
        alone, place = _put_back(rest, row, at)
        band = band_of(alone, place)
        if band is not None:
            slip = _slip(alone, place, band)
            _add(found, alone, place, beside_nm=band.middle_nm, slip=slip)
    return rest


def _put_back(rest: ChartRow, row: ChartRow, at: int) -> tuple[ChartRow, int]:
    """The cleaned row with one figure of the whole row in it again, and where."""
    place = sum(other < row.places[at] for other in rest.places)
    figures = [*rest.figures[:place], row.figures[at], *rest.figures[place:]]
    places = [*rest.places[:place], row.places[at], *rest.places[place:]]
    return ChartRow(row.code, row.kind, figures, places, row.step_nm), place


def _doubtful(row: ChartRow, at: int) -> _Doubtful | None:
    band = band_of(row, at)
    if band is None:
        return None
    figure = row.figures[at]
    rest = row.without(at)
    slack_nm = row.slack_nm(at) + _swing_nm(rest)
    far_off = band.wide_off_nm(figure.nm) > slack_nm + _WORTH_ASKING_NM
    if band.off_nm(figure.nm) <= slack_nm or band.is_break(figure.nm, slack_nm=slack_nm):
        return None
    slip = _slip(row, at, band)
    if slip is None and (not far_off or _stood_before(row, at)):
        return None
    return _Doubtful(at, band, slip, roughness(rest))


def _slip(row: ChartRow, at: int, band: Band) -> Slip | None:
    return slip_behind(
        row.figures[at].typed,
        lower_nm=band.lower,
        upper_nm=band.upper,
        slack_nm=row.slack_nm(at),
        kind=row.kind,
    )


def _swing_nm(row: ChartRow) -> float:
    """How far figures of this row lie outside their bands: what is usual here."""
    bands = (band_of(row, at) for at in range(len(row.figures)))
    swings = (
        band.off_nm(figure.nm)
        for band, figure in zip(bands, row.figures, strict=True)
        if band is not None and band.decides
    )
    return min(max(swings, default=0.0), _MOST_SWING_NM)


def _stood_before(row: ChartRow, at: int) -> bool:
    """Whether the very figure was agreed in the revision in force."""
    in_force_nm = row.figures[at].in_force_nm
    return in_force_nm is not None and abs(row.figures[at].nm - in_force_nm) <= SAME_NM


def _add(found: dict[str, Odd], row: ChartRow, at: int, *, beside_nm: int | None, slip: Slip | None) -> None:
    figure = row.figures[at]
    said = question(
        figure.typed,
        beside_nm=beside_nm,
        in_force_nm=figure.in_force_nm,
        slip=slip,
        others=[other.typed for other in row.figures],
    )
    kind, suggestion_nm = (slip.kind, slip.suggestion_nm) if slip else (None, None)
    found.setdefault(figure.size, Odd(figure.size, figure.typed, kind, suggestion_nm, said))
