"""A first proposal for how a file is to be read; every part of it can be changed on the screen."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from inventory.calc.length import Unit
from inventory.models import ImportRun
from inventory.services.importing.cells import Cell, text_of
from inventory.services.importing.files import Table
from inventory.services.importing.headers import find_header, labels_of
from inventory.services.importing.lines import FILLED_DOWN
from inventory.services.importing.mapping import Column, Layout, TableMapping, Target
from inventory.services.importing.roles import (
    LONG_ROLES,
    PIECE_ROLES,
    SPEC_LONG_ROLES,
    SPEC_ROLES,
    KnownPoint,
    PointGuesser,
    guess_word,
    unit_in,
)

_SIZE: Final = re.compile(
    r"(?:size\s*)?((?:\d{1,3}(?:[./-]\d{1,3})?[a-z]{0,2}|x{0,4}[sml]|[sml]|xx?[sl]|\dx[sl]))", re.I
)
_DATE: Final = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-]\d{2,4}")
_LOOK_AT: Final = 500


@dataclass(frozen=True, slots=True)
class Guesser:
    """Guesses for one kind of import, by the points that the shop knows."""

    kind: str
    points: PointGuesser

    def role(self, label: str) -> str:
        """What a column of this name most likely means; empty when nothing fits."""
        if not label:
            return ""
        if self.kind == ImportRun.Kind.SPEC:
            word = guess_word(label, [*SPEC_ROLES, *SPEC_LONG_ROLES])
            size = _SIZE.fullmatch(label.strip())
            return word or (f"size:{size[1]}" if size else "")
        return self.points.role(label) or guess_word(label, [*PIECE_ROLES, *LONG_ROLES])


def propose(
    table: Table,
    *,
    kind: str,
    points: Sequence[KnownPoint],
    unit: Unit,
    target: Target,
    header: tuple[int, int] | None = None,
) -> TableMapping:
    """Header, unit, layout and columns as they look; `unit` is the shop's, taken when the file names none.

    `header` is the first header row (from 0) and their number where that is known.
    """
    guesser = Guesser(kind, PointGuesser(points))
    first, count = header or find_header(table.rows, guesser.role)
    unit = _unit_above(table.rows[:first]) or unit
    return _read_columns(table, guesser, first=first, count=count, unit=unit, target=target)


def _read_columns(
    table: Table, guesser: Guesser, *, first: int, count: int, unit: Unit, target: Target
) -> TableMapping:
    labels = labels_of(table.rows, first=first, count=count, width=table.width)
    roles = _each_once([guesser.role(label) for label in labels])
    layout = _layout(roles)
    allowed = _allowed(guesser.kind, layout)
    roles = [role if allowed(role) else "" for role in roles]
    units = [
        unit_in(label) if _holds_lengths(role) else "" for label, role in zip(labels, roles, strict=True)
    ]
    most = Counter(filter(None, units)).most_common(1)
    whole = Unit(most[0][0]) if most and most[0][1] * 2 > sum(map(_holds_lengths, roles)) else unit
    body = table.rows[first + count : first + count + _LOOK_AT]
    return TableMapping(
        sheet=table.sheet,
        header_row=first + 1,
        header_rows=count,
        layout=layout,
        unit=whole,
        day_first=_day_first(body),
        fill_down=_has_gaps(body, [place for place, role in enumerate(roles) if role in FILLED_DOWN]),
        columns=tuple(
            Column(role, "" if unit == whole else unit) for role, unit in zip(roles, units, strict=True)
        ),
        target=target,
    )


def _each_once(roles: Sequence[str]) -> list[str]:
    seen: set[str] = set()
    kept = []
    for role in roles:
        again = role in seen and not role.startswith("point:")
        kept.append("" if again else role)
        seen.add(role)
    return kept


def _layout(roles: Sequence[str]) -> Layout:
    wide = any(role.startswith(("point:", "size:")) for role in roles)
    long = {"point", "reading"} <= set(roles) or {"size", "nominal"} <= set(roles)
    return "long" if long and not wide else "wide"


def _allowed(kind: str, layout: Layout) -> Callable[[str], bool]:
    if kind == ImportRun.Kind.SPEC:
        extra = SPEC_LONG_ROLES if layout == "long" else {}
        return lambda role: (
            role in SPEC_ROLES or role in extra or (layout == "wide" and role.startswith("size:"))
        )
    extra = LONG_ROLES if layout == "long" else {}
    return lambda role: (
        role in PIECE_ROLES or role in extra or (layout == "wide" and role.startswith("point:"))
    )


def _holds_lengths(role: str) -> bool:
    return role.startswith(("point:", "size:")) or role in {
        "reading",
        "nominal",
        "minus",
        "plus",
        "tolerance",
    }


def _unit_above(rows: Sequence[Sequence[Cell]]) -> Unit | None:
    """The unit named in a title line, such as "all figures in cm"."""
    found = {unit_in(text_of(cell)) for row in rows for cell in row} - {""}
    return Unit(found.pop()) if len(found) == 1 else None


def _day_first(rows: Sequence[Sequence[Cell]]) -> bool:
    """Whether 3/8/2024 is 3 August: so unless some date shows a thirteenth "month"."""
    for row in rows:
        for cell in row:
            match = _DATE.match(cell) if isinstance(cell, str) else None
            if match and int(match[1]) > 12:
                return True
            if match and int(match[2]) > 12:
                return False
    return True


def _has_gaps(rows: Sequence[Sequence[Cell]], places: Sequence[int]) -> bool:
    """Whether a column that says where pieces belong is filled in on some lines only."""
    full = [row for row in rows if sum(cell != "" for cell in row) > 2]
    for place in places:
        filled = sum(place < len(row) and row[place] != "" for row in full)
        if 0 < filled < len(full):
            return True
    return False
