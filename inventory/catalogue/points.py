"""What the catalogue says of one point of measure, and of one family of garments.

A point is complete only with nine words: name, from, to, path, level, state, face, kind and side. Leave one
out and two honest people will lay the tape in two places. Everything here is a default a shop may change:
no published tolerance for laced, boned garments was found, so the figures are marked as what they are.

Where practice gives a range of tolerances, the default is its wider end: a narrower one is an agreement
with the maker, not something to be assumed. Reading errors take the middle of their range.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

Group = Literal["laced", "general"]
Kind = Literal["half", "full", "length", "placement"]
Basis = Literal["half", "full"]
Side = Literal["L", "R", "S"]

COMMON_PRACTICE = "common practice, no source"
GENERAL_TRADE = "general trade table"

PAIR: tuple[Side, ...] = ("L", "R")
SINGLE: tuple[Side, ...] = ("S",)


def mm(figure: int) -> int:
    """Whole nanometres of whole millimetres.

    >>> mm(6)
    6000000
    """
    return figure * 1_000_000


class ReadingClass(StrEnum):
    """How well a kind of point can be read with a tape (planning values; common practice, no source)."""

    HARD_EDGE = "straight length between hard edges"
    VISIBLE_LEVEL = "half girth on a visible tape or between hard edges"
    HIDDEN_LEVEL = "half girth on a level that has to be found"
    SLOPING = "half girth where the garment flares"
    ALONG_CURVE = "along a curved edge, or over a bulge"


# (same person SD, two people SD) in nm. The middle of each range: 0.5-1 mm and 1 mm for hard edges; 1 and
# 1.5 mm; 1.5 and 2 mm; 1.5-2 mm and 2-3 mm where the garment flares; 2 and 3 mm along a curve.
_READING_SD_NM: dict[ReadingClass, tuple[int, int]] = {
    ReadingClass.HARD_EDGE: (750_000, 1_000_000),
    ReadingClass.VISIBLE_LEVEL: (1_000_000, 1_500_000),
    ReadingClass.HIDDEN_LEVEL: (1_500_000, 2_000_000),
    ReadingClass.SLOPING: (1_750_000, 2_500_000),
    ReadingClass.ALONG_CURVE: (2_000_000, 3_000_000),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CataloguePoint:
    """One point of measure with its nine words and its defaults (lengths in whole nanometres).

    ``position`` is the place in the walk of the tape: top to bottom, lengths after girths, details last.
    ``core_in`` names the families in which the point is chosen by default. An ``informational`` point is
    read and kept, but no verdict hangs on it.
    """

    code: str
    group: Group
    name: str
    from_: str
    to: str
    path: str
    level: str
    state: str
    face: str
    kind: Kind
    sides: tuple[Side, ...]
    families: tuple[str, ...]
    core_in: tuple[str, ...] = ()
    position: int
    tolerance_minus_nm: int
    tolerance_plus_nm: int
    tolerance_basis: Basis = "half"
    asymmetry_limit_nm: int | None = None
    reading_class: ReadingClass
    pitfalls: str
    source: str = COMMON_PRACTICE
    informational: bool = False

    @property
    def paired(self) -> bool:
        """Whether the point exists left and right, as worn."""
        return self.sides == PAIR

    @property
    def side(self) -> str:
        """The ninth word: which side is read."""
        return "left and right, as worn" if self.paired else "single"

    @property
    def same_person_sd_nm(self) -> int:
        """Spread (standard deviation, nm) of repeats by one person; a planning value."""
        return _READING_SD_NM[self.reading_class][0]

    @property
    def two_people_sd_nm(self) -> int:
        """Spread (standard deviation, nm) of one reading each by different people; a planning value."""
        return _READING_SD_NM[self.reading_class][1]

    def nine_words(self) -> dict[str, str]:
        """The nine words in order, ready to print as a how-to-measure line."""
        return {
            "name": self.name,
            "from": self.from_,
            "to": self.to,
            "path": self.path,
            "level": self.level,
            "state": self.state,
            "face": self.face,
            "kind": self.kind,
            "side": self.side,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A family of garments that is laid and measured in one way."""

    code: str
    name: str
    group: Group
    laid: str
