"""A row against the revision in force: what the other sizes cannot tell, an earlier agreed figure may.

A revision may move a whole row; what the other sizes of the row moved by is taken off first.
"""

from collections.abc import Iterator
from statistics import median
from typing import Final

from inventory.calc.length import NM_PER_MM
from inventory.calc.slips.charts.bands import band_of
from inventory.calc.slips.charts.explained import slip_behind
from inventory.calc.slips.charts.rows import LEAST_SLACK_NM, ChartRow
from inventory.calc.slips.kinds import Slip

_TOGETHER_NM: Final = 3 * NM_PER_MM
_MOST_MOVED: Final = 0.25
_PLAIN_NM: Final = 4 * NM_PER_MM
_GROSS: Final = (0.6, 1.6)


def off_in_force(row: ChartRow) -> Iterator[tuple[int, Slip | None]]:
    """The places of figures that the revision in force speaks against, with the slip that may explain it."""
    for at, figure in enumerate(row.figures):
        if not figure.in_force_nm:
            continue
        expected_nm = figure.in_force_nm + _moved_nm(row, at)
        off_nm = abs(figure.nm - expected_nm)
        is_gross = not _GROSS[0] * expected_nm <= figure.nm <= _GROSS[1] * expected_nm
        if off_nm <= _PLAIN_NM or not (is_gross or is_open(row, at)):
            continue
        slip = slip_behind(
            figure.typed,
            lower_nm=expected_nm,
            upper_nm=expected_nm,
            slack_nm=LEAST_SLACK_NM,
            kind=row.kind,
        )
        if slip is not None or is_gross:
            yield at, slip


def is_open(row: ChartRow, at: int) -> bool:
    """Whether the other sizes leave more than rounding to a figure."""
    band = band_of(row, at)
    return band is None or not band.decides


def _moved_nm(row: ChartRow, at: int) -> int:
    """How far the other figures of the row moved together since; 0 where they did not."""
    moves = [
        other.nm - other.in_force_nm
        for place, other in enumerate(row.figures)
        if place != at and other.in_force_nm
    ]
    if len(moves) < 2 or max(moves) - min(moves) > _TOGETHER_NM:
        return 0
    moved_nm = round(median(moves))
    largest_nm = max(figure.in_force_nm or 0 for figure in row.figures)
    return moved_nm if abs(moved_nm) <= _MOST_MOVED * largest_nm else 0
