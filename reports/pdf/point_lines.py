"""The table of points of an inspection sheet, one line per point, in words and figures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc.length import Display, shows_exactly

if TYPE_CHECKING:
    from inventory.calc.judging import Finding
    from inventory.queries.point_table import PointRow


@dataclass(frozen=True, slots=True)
class PointLine:
    """One point: its row, how often each side was read, and what of it decided."""

    row: PointRow
    times_read: str
    decided_by: str

    @property
    def by_final_rule(self) -> bool:
        """Whether the readings were used up and the rule fixed in advance decided."""
        return self.row.by_final_rule


def point_lines(rows: Iterable[PointRow]) -> list[PointLine]:
    """The rows of a judged piece, ready to be printed."""
    return [
        PointLine(
            row,
            times_read=" + ".join(str(side.readings) for side in _sides(row)),
            decided_by="" if row.shelf == "in" else ", ".join(_deciding_words(row)),
        )
        for row in rows
    ]


def any_rounded(rows: Iterable[PointRow], *, display: Display) -> bool:
    """Whether a figure of these rows is rounded in the shop's display."""
    return any(
        not shows_exactly(nm, display)
        for row in rows
        for finding in _found(row)
        for nm in (finding.value_nm, finding.nominal_nm, finding.lower_nm, finding.upper_nm)
    )


def _sides(row: PointRow) -> list[Finding]:
    return [side for side in (row.left, row.right, row.single) if side is not None]


def _found(row: PointRow) -> list[Finding]:
    return [found for found in (*_sides(row), row.full, row.pair) if found is not None]


def _deciding_words(row: PointRow) -> list[str]:
    """What the verdict of the point comes from; a single reading needs no word."""
    named = (
        (row.left, "left"),
        (row.right, "right"),
        (row.full, "full\N{NO-BREAK SPACE}girth"),
        (row.pair, "left\N{NO-BREAK SPACE}\N{MINUS SIGN}\N{NO-BREAK SPACE}right"),
    )
    return [
        word
        for finding, word in named
        if finding is not None and finding.deciding and finding.shelf.value == row.shelf
    ]
