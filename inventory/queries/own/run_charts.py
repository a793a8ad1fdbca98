"""Figures one after another, ready to be drawn: what was to be expected, and which were not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True, slots=True)
class Spot:
    """One figure (nm), what stands under it, and whether it signals or is still part of the baseline."""

    value_nm: float
    label: str
    signals: bool = False
    baseline: bool = False


@dataclass(frozen=True, slots=True)
class RunChart:
    """Figures in their order; limits and centre (nm) where there are any; `signed` writes a plus sign."""

    title: str
    spots: Sequence[Spot]
    lower_nm: float | None = None
    upper_nm: float | None = None
    centre_nm: float | None = None
    signed: bool = False

    @property
    def reach(self) -> tuple[float, float]:
        """The lowest and highest of all that is drawn, with a margin; never the same."""
        drawn = [spot.value_nm for spot in self.spots]
        drawn += [nm for nm in (self.lower_nm, self.upper_nm, self.centre_nm) if nm is not None]
        low, high = min(drawn, default=0.0), max(drawn, default=0.0)
        margin = max((high - low) * 0.12, 500_000)
        return low - margin, high + margin
