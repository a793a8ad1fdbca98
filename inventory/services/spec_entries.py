"""The figures of a spec as people type them, read into lengths; one sentence for each box that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from inventory.calc import length
from inventory.calc.errors import CalcError
from inventory.models import MeasurePoint
from inventory.models.points import Basis, FavourableSide, Kind
from inventory.services.refusals import Refused

Where = tuple[str, str]
"""A box of the grid: point code and column, such as ("WA", "minus") or ("WA", size_column("24"))."""


class Column(StrEnum):
    """The boxes of a row that hold for all sizes."""

    BASIS = "basis"
    MINUS = "minus"
    PLUS = "plus"
    PAIR_LIMIT = "pair_limit"
    FAVOURABLE_SIDE = "favourable_side"
    FAVOURABLE_LIMIT = "favourable_limit"
    STEP = "step"


def size_column(size: str, what: str = "nominal") -> str:
    """The column of one size: its nominal, or its own `minus` or `plus`."""
    return f"{what}:{size}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CellEntry:
    """One size of a row, as typed. A tolerance typed here holds for this size only."""

    nominal: str = ""
    minus: str = ""
    plus: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointEntry:
    """One row of the grid, as typed; empty is "none" or, for a tolerance, "as it was"."""

    basis: str = ""
    minus: str = ""
    plus: str = ""
    pair_limit: str = ""
    favourable_side: str = ""
    favourable_limit: str = ""
    step: str = ""
    cells: Mapping[str, CellEntry] = field(default_factory=dict)


@dataclass(slots=True)
class CellFigures:
    """One size of a row in nm; None where nothing was typed."""

    nominal_nm: int | None
    minus_nm: int | None
    plus_nm: int | None


@dataclass(slots=True)
class PointFigures:
    """One row of the grid in nm; None where nothing was typed."""

    basis: str
    minus_nm: int | None
    plus_nm: int | None
    pair_limit_nm: int | None
    favourable_side: str
    favourable_limit_nm: int | None
    step_nm: int | None
    cells: dict[str, CellFigures]


class FiguresNotUnderstood(Refused):
    """Some boxes of the grid cannot be taken; `errors` has a sentence for each. Nothing was saved."""

    def __init__(self, errors: Mapping[Where, str]) -> None:
        (code, column), first = next(iter(errors.items()))
        many = "1 figure" if len(errors) == 1 else f"{len(errors)} figures"
        super().__init__(
            f"{many} cannot be taken as typed, and nothing was saved. First: {code}, {said(column)}: {first}"
        )
        self.errors = dict(errors)


def said(column: str) -> str:
    """The name of a column in words.

    >>> said("minus"), said("nominal:24"), said("minus:24")
    ('minus', 'size 24', 'minus of size 24')
    """
    what, _, size = column.partition(":")
    if size:
        return f"size {size}" if what == "nominal" else f"{what} of size {size}"
    return {"pair_limit": "left-right limit", "step": "grade step"}.get(column, column.replace("_", " "))


class Reader:
    """Reads the rows of one grid in one unit and gathers what is wrong by box."""

    def __init__(self, unit: length.Unit) -> None:
        self.unit = unit
        self.errors: dict[Where, str] = {}

    def read(self, point: MeasurePoint, entry: PointEntry) -> PointFigures:
        """One row; boxes that cannot be read are noted in `errors` and come out as None."""
        code = point.code
        figures = PointFigures(
            basis=entry.basis or Basis.HALF.value,
            minus_nm=self.tolerance(code, Column.MINUS, entry.minus),
            plus_nm=self.tolerance(code, Column.PLUS, entry.plus),
            pair_limit_nm=self.length(code, Column.PAIR_LIMIT, entry.pair_limit),
            favourable_side=entry.favourable_side,
            favourable_limit_nm=self.length(code, Column.FAVOURABLE_LIMIT, entry.favourable_limit),
            step_nm=self.signed(code, Column.STEP, entry.step),
            cells={size: self._cell(code, size, cell) for size, cell in entry.cells.items()},
        )
        self._check_words(point, figures)
        self._check_pair(point, figures)
        return figures

    def length(self, code: str, column: str, typed: str) -> int | None:
        """A length that is not below zero."""
        found = self.signed(code, column, typed)
        if found is not None and found < 0:
            self.refuse(code, column, f"{typed!r} is below zero. Type it without the sign.")
            return None
        return found

    def tolerance(self, code: str, column: str, typed: str) -> int | None:
        """One side of a tolerance: `6`, or with the sign of its own side."""
        found = self.signed(code, column, typed)
        if found is None:
            return None
        is_minus = column.startswith(Column.MINUS)
        if (found > 0 and is_minus and typed.lstrip().startswith("+")) or (found < 0 and not is_minus):
            side = "minus" if is_minus else "plus"
            self.refuse(
                code, column, f"{typed!r} has the sign of the other side. Type the {side} side, such as 6."
            )
            return None
        return abs(found)

    def signed(self, code: str, column: str, typed: str) -> int | None:
        """A length with or without a sign; None when empty or not understood."""
        if not typed.strip():
            return None
        try:
            return length.parse_signed(typed, unit=self.unit).nm
        except CalcError as refusal:
            self.refuse(code, column, str(refusal))
            return None

    def refuse(self, code: str, column: str, sentence: str) -> None:
        """Note what is wrong with a box; the first sentence stays."""
        self.errors.setdefault((code, str(column)), sentence)

    def _cell(self, code: str, size: str, cell: CellEntry) -> CellFigures:
        nominal_nm = self.length(code, size_column(size), cell.nominal)
        if nominal_nm == 0:
            self.refuse(
                code, size_column(size), "The nominal is 0. Type a length above zero, or leave it empty."
            )
        return CellFigures(
            nominal_nm=nominal_nm,
            minus_nm=self.tolerance(code, size_column(size, "minus"), cell.minus),
            plus_nm=self.tolerance(code, size_column(size, "plus"), cell.plus),
        )

    def _check_words(self, point: MeasurePoint, figures: PointFigures) -> None:
        if figures.basis not in Basis.values:
            choices = " or ".join(Basis.values)
            self.refuse(point.code, Column.BASIS, f"Basis {figures.basis!r} is unknown. Choose {choices}.")
        elif figures.basis == Basis.FULL and point.kind != Kind.HALF:
            self.refuse(
                point.code,
                Column.BASIS,
                f"{point.code} is no half girth: its tolerance cannot refer to the full one. Choose as read.",
            )

    def _check_pair(self, point: MeasurePoint, figures: PointFigures) -> None:
        side, wider, limit = figures.favourable_side, figures.favourable_limit_nm, figures.pair_limit_nm
        refuse = self.refuse
        if side not in FavourableSide.values:
            refuse(
                point.code,
                Column.FAVOURABLE_SIDE,
                f"Side {side!r} is unknown. Choose plus, minus or neither.",
            )
            return
        if not point.is_paired and (limit is not None or wider is not None):
            where = Column.PAIR_LIMIT if limit is not None else Column.FAVOURABLE_LIMIT
            refuse(
                point.code, where, f"{point.code} is there once, with no left and right. Leave this empty."
            )
        elif side and wider is None and (point.code, Column.FAVOURABLE_LIMIT) not in self.errors:
            refuse(
                point.code, Column.FAVOURABLE_LIMIT, "A favourable side is chosen. Type its wider limit too."
            )
        elif wider is not None and not side:
            refuse(
                point.code, Column.FAVOURABLE_SIDE, "A wider limit is typed. Choose the side it holds for."
            )
        elif wider is not None and limit is None and (point.code, Column.PAIR_LIMIT) not in self.errors:
            refuse(point.code, Column.PAIR_LIMIT, "A wider limit is typed. Type the ordinary limit too.")
        elif wider is not None and limit is not None and wider < limit:
            shown = length.show_exact(limit, unit=self.unit)
            refuse(
                point.code,
                Column.FAVOURABLE_LIMIT,
                f"It is narrower than the limit of {shown}. Type at least that.",
            )
