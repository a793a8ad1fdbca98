"""The figures of one point along the sizes of a chart, and a doubt about one of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from inventory.calc.length import NM_PER_MM, Parsed, Unit, nm_per_unit
from inventory.calc.slips.kinds import PointKind, SlipKind

_INCH: Final = nm_per_unit()[Unit.INCH]
# How coarsely charts are written: to 5 mm, to quarters or eighths of an inch; finer ones to the millimetre or
# to a sixteenth (common practice, no source).
_GRIDS: Final = {
    Unit.MM: (5 * NM_PER_MM, NM_PER_MM),
    Unit.CM: (5 * NM_PER_MM, NM_PER_MM),
    Unit.INCH: (_INCH // 4, _INCH // 8, _INCH // 16),
}
LEAST_SLACK_NM: Final = 2 * NM_PER_MM
"""Rounded to the millimetre, an even step of 12.7 swings by so much at most."""


@dataclass(frozen=True, slots=True)
class Figure:
    """The nominal of one size as typed; `in_force_nm` is that of the revision in force, if it has one."""

    size: str
    typed: Parsed
    in_force_nm: int | None = None

    @property
    def nm(self) -> int:
        """The length as understood."""
        return self.typed.nm


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One point: its figures in the order of the run, sizes without one left out, and the stated step (nm).

    `places` says where each figure stands in the run, in sizes from its beginning.
    """

    code: str
    kind: PointKind
    figures: Sequence[Figure]
    places: Sequence[float]
    step_nm: int | None = None

    def __post_init__(self) -> None:
        if len(self.figures) != len(self.places):
            raise ValueError(f"{len(self.figures)} figures at {len(self.places)} places")

    def without(self, at: int) -> "ChartRow":
        """The row with one figure taken out."""
        keep = [place for place in range(len(self.figures)) if place != at]
        return ChartRow(
            self.code,
            self.kind,
            [self.figures[place] for place in keep],
            [self.places[place] for place in keep],
            self.step_nm,
        )

    @property
    def slopes(self) -> list[float]:
        """The rise (nm) from figure to figure, for one size each."""
        return [
            (self.figures[place + 1].nm - self.figures[place].nm)
            / (self.places[place + 1] - self.places[place])
            for place in range(len(self.figures) - 1)
        ]

    def slack_nm(self, at: int) -> int:
        """How far rounding may move a figure: as coarsely as all the others are written.

        A figure that is itself off their grid was not rounded to it.
        """
        others = [figure.nm for place, figure in enumerate(self.figures) if place != at]
        here = self.figures[at]
        for grid_nm in _GRIDS[here.typed.unit]:
            if all(nm % grid_nm == 0 for nm in others):
                return max(grid_nm, LEAST_SLACK_NM) if here.nm % grid_nm == 0 else LEAST_SLACK_NM
        return LEAST_SLACK_NM


@dataclass(frozen=True, slots=True)
class Odd:
    """A figure that looks like a slip: of which size, which slip (None: none explains it), and the question.

    `suggestion_nm` is the figure without the slip where that can be known.
    """

    size: str
    typed: Parsed
    kind: SlipKind | None
    suggestion_nm: int | None
    question: str
