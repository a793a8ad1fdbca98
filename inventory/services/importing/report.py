"""What a check found: errors, suspicious cells, rows left out. Lists are capped, counts are not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

MOST_ERRORS: Final = 500
MOST_SUSPICIONS: Final = 1_000
MOST_LEFT_OUT: Final = 300


@dataclass(slots=True)
class Report:
    """Gathers by row number (as a spreadsheet counts them) and column name."""

    error_count: int = 0
    suspicion_count: int = 0
    suspicion_lines: int = 0
    double_count: int = 0
    left_out_count: int = 0
    errors: list[tuple[int, str, str]] = field(default_factory=list)
    suspicions: list[tuple[int, str, str, str]] = field(default_factory=list)
    left_out: list[tuple[int, str, str]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    unused: list[str] = field(default_factory=list)
    heaps: list[list[str | int]] = field(default_factory=list)
    people: list[dict[str, Any]] = field(default_factory=list)  # Any: what JSON can hold
    seen_with: list[str] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    preview: dict[str, Any] = field(default_factory=dict)  # Any: what JSON can hold
    wrong_rows: set[int] = field(default_factory=set)

    def error(self, row: int, column: str, sentence: str) -> None:
        """Note what keeps a row from being stored; row 0 is the file as a whole."""
        self.error_count += 1
        self.wrong_rows.add(row)
        if len(self.errors) < MOST_ERRORS:
            self.errors.append((row, column, sentence))

    def suspicion(self, row: int, column: str, typed: str, question: str) -> None:
        """Note a cell that looks like a slip."""
        self._suspect(row, column, typed, question, cells=1)

    def suspect_together(self, row: int, where: str, cells: int, question: str) -> None:
        """Note so many cells that raise one and the same question; row 0 is the file as a whole."""
        self._suspect(row, where, "", question, cells=cells)

    def doubles_found(self, row: int, rows: int, question: str) -> None:
        """Note so many rows that look like pieces stored before, or like rows above them."""
        self.double_count += rows
        self._suspect(row, "row" if rows == 1 else f"{rows} rows", "", question, cells=0)

    def _suspect(self, row: int, column: str, typed: str, question: str, *, cells: int) -> None:
        self.suspicion_count += cells
        self.suspicion_lines += 1
        if len(self.suspicions) < MOST_SUSPICIONS:
            self.suspicions.append((row, column, typed, question))

    def leave_out(self, row: int, text: str, why: str) -> None:
        """Note a line that is not a piece."""
        self.left_out_count += 1
        if len(self.left_out) < MOST_LEFT_OUT:
            self.left_out.append((row, text[:80], why))

    def as_json(self) -> dict[str, Any]:  # Any: what JSON can hold
        """The report as it is kept in the run, lists in the order of the file."""
        return {
            "counts": {
                **self.counts,
                "errors": self.error_count,
                "wrong_rows": len(self.wrong_rows),
                "suspicious": self.suspicion_count,
                "suspicious_lines": self.suspicion_lines,
                "doubles": self.double_count,
                "left_out": self.left_out_count,
            },
            "errors": sorted(self.errors),
            "suspicious": sorted(self.suspicions),
            "left_out": sorted(self.left_out),
            "unused": self.unused,
            "remarks": self.remarks,
            "heaps": self.heaps,
            "people": self.people,
            "seen_with": self.seen_with,
            "preview": self.preview,
        }


def odd_in_words(counts: Mapping[str, int]) -> str:
    """What of a checked file waits for a word; empty when nothing does.

    >>> odd_in_words({"suspicious": 2, "doubles": 1})
    '2 cells look like slips and 1 row looks like a piece that counts already'
    """
    slips, doubles = counts.get("suspicious", 0), counts.get("doubles", 0)
    parts = []
    if slips:
        parts.append("1 cell looks like a slip" if slips == 1 else f"{slips} cells look like slips")
    if doubles:
        one = "1 row looks like a piece that counts already"
        parts.append(one if doubles == 1 else f"{doubles} rows look like pieces that count already")
    return " and ".join(parts)


def listed(names: Sequence[str], *, most: int = 8) -> str:
    """Names for a sentence, the first few of many.

    >>> listed(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    if len(names) <= most:
        return ", ".join(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"
