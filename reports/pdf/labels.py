"""Where each label goes on a sheet of labels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, islice, repeat
from typing import TYPE_CHECKING

from inventory.models import Shop
from inventory.services.refusals import Refused
from reports.pdf.pictures import piece_code

if TYPE_CHECKING:
    from inventory.models import Piece


class NoSuchPlace(Refused):
    """The first free label lies off the sheet."""


@dataclass(frozen=True, slots=True)
class Layout:
    """A sheet of equal labels."""

    columns: int
    rows: int
    height_mm: float

    @property
    def places(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows


@dataclass(frozen=True, slots=True)
class Label:
    """What is printed on one label."""

    piece: Piece
    code: str


LAYOUTS = {
    Shop.Paper.A4.value: Layout(columns=3, rows=8, height_mm=33.9),
    Shop.Paper.LETTER.value: Layout(columns=3, rows=8, height_mm=31.7),
}


def sheets(pieces: Iterable[Piece], *, first: int, paper: str) -> Iterator[list[list[Label | None]]]:
    """Rows of labels, sheet by sheet, beginning at place `first` (1 is top left) of the first sheet."""
    check_place(first, paper=paper)
    layout = LAYOUTS[paper]
    places: Iterator[Label | None] = chain(
        repeat(None, first - 1), (Label(piece, piece_code(piece.label)) for piece in pieces)
    )
    while filled := list(islice(places, layout.places)):
        filled += [None] * (layout.places - len(filled))
        yield [filled[start : start + layout.columns] for start in range(0, layout.places, layout.columns)]


def sheet_count(pieces: int, *, first: int, paper: str) -> int:
    """How many sheets so many labels need.

    >>> sheet_count(24, first=1, paper="A4"), sheet_count(24, first=2, paper="A4")
    (1, 2)
    """
    return -(-(pieces + first - 1) // LAYOUTS[paper].places)


def check_place(first: int, *, paper: str) -> None:
    """Refuse a first free label that is off the sheet, with `NoSuchPlace`."""
    layout = LAYOUTS[paper]
    if not 1 <= first <= layout.places:
        raise NoSuchPlace(
            f"The first free label is {first}, but a sheet has {layout.places}. "
            f"Count from the top left: 1 to {layout.places}.",
            field="first",
        )
