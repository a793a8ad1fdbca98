"""The choices made on the screen about a file, as kept in the run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Literal, Self

from inventory.calc.length import Unit
from inventory.services.importing.refusals import MappingIncomplete
from inventory.services.importing.roles import ONCE_ONLY, PIECE_ROLES, SPEC_ROLES

Layout = Literal["wide", "long"]


@dataclass(frozen=True, slots=True)
class Column:
    """What a column means, and the unit of its figures where it differs from the file's."""

    role: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Target:
    """Where the rows go as far as the file does not say it: codes as on the screen, or empty.

    `into` is the label of the delivery or batch that the pieces are added to; empty: they make new ones.
    """

    into: str = ""

    maker: str = ""
    style: str = ""
    revision: str = ""
    arrived_on: str = ""
    order: str = ""
    base_size: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class TableMapping:
    """Sheet, header, unit, layout and the meaning of each column. Rows are counted from 1, as on screen."""

    sheet: str = ""
    header_row: int = 1
    header_rows: int = 1
    layout: Layout = "wide"
    unit: Unit = Unit.MM
    day_first: bool = True
    fill_down: bool = False
    columns: tuple[Column, ...] = ()
    target: Target = field(default_factory=Target)

    def as_json(self) -> dict[str, Any]:  # Any: what JSON can hold
        """The choices as the run keeps them."""
        return {
            **asdict(self),
            "unit": self.unit.value,
            "columns": [asdict(column) for column in self.columns],
        }

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> Self:  # Any: what JSON can hold
        """The choices as kept in a run; an empty document gives the defaults."""
        if not kept:
            return cls()
        return cls(
            **{
                **kept,
                "unit": Unit(kept["unit"]),
                "columns": tuple(Column(**column) for column in kept["columns"]),
                "target": Target(**kept["target"]),
            }
        )

    def place_of(self, role: str) -> int | None:
        """The column of a role that is there once, or None."""
        return next((place for place, column in enumerate(self.columns) if column.role == role), None)

    @property
    def first_data_row(self) -> int:
        """The first row after the header, from 0."""
        return self.header_row - 1 + self.header_rows


def check_columns(mapping: TableMapping, labels: Sequence[str]) -> None:
    """Raise `MappingIncomplete` when a meaning is given to two columns that can be only one."""
    seen: dict[str, str] = {}
    for column, label in zip(mapping.columns, labels, strict=False):
        if column.role in seen and (column.role in ONCE_ONLY or column.role.startswith("size:")):
            name = {**PIECE_ROLES, **SPEC_ROLES}.get(
                column.role, column.role.partition(":")[2] or column.role
            )
            raise MappingIncomplete(
                f"Columns {seen[column.role]!r} and {label!r} are both {name!r}. Leave one of them out."
            )
        if column.role:
            seen[column.role] = label
