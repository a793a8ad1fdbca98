"""What to mind before a spec is put in force; warnings never stand in the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.calc import setup_checks, setup_narrow
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import DENOMINATORS, Display, Unit
from inventory.calc.setup_checks import SetupWarning, SizeRow, WarningKind
from inventory.models import SpecCell
from inventory.models.points import Basis, Kind
from inventory.queries.plans import as_plan

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory.calc.conformity import Rule
    from inventory.queries.specs import SheetRow, SpecSheet


@dataclass(frozen=True, slots=True)
class WarningGroup:
    """Warnings of one kind: the first, and the rest, such as further pairs of sizes of the same point."""

    first: SetupWarning
    more: tuple[SetupWarning, ...]

    @property
    def more_words(self) -> str:
        """What the rest is, such as "3 more of WA" or "2 more: WA, HH"."""
        points = dict.fromkeys(warning.point for warning in self.more)
        if set(points) == {self.first.point}:
            return f"{len(self.more)} more of {self.first.point}"
        return f"{len(self.more)} more like this: {', '.join(points)}"


def grouped_warnings_of(sheet: SpecSheet, *, rule: Rule) -> tuple[WarningGroup, ...]:
    """As `warnings_of`, a point's overlapping sizes together: a run of twenty would say it nineteen times.

    So are all points that one reading seldom settles, after the rest: with usual tolerances they are many.
    """
    groups: dict[tuple[str, object], list[SetupWarning]] = {}
    for warning in sorted(warnings_of(sheet, rule=rule), key=_is_mild):
        kind = WarningKind.CROSS if warning.kind is WarningKind.MEET else warning.kind
        point = "" if _is_mild(warning) else warning.point
        groups.setdefault((point, kind), []).append(warning)
    return tuple(WarningGroup(first, tuple(more)) for first, *more in groups.values())


def _is_mild(warning: SetupWarning) -> bool:
    return warning.kind is WarningKind.REPEATS_USUAL


def warnings_of(sheet: SpecSheet, *, rule: Rule) -> tuple[SetupWarning, ...]:
    """Overlap of neighbouring sizes, and points that one reading cannot settle, in walk order. No query.

    Points for information only are read and not judged: nothing is said of them. A warning that holds for
    several tolerances of a point is given once for each.
    """
    display = _as_on_the_sheet(Unit(sheet.spec.unit_of_record))
    found: dict[str, SetupWarning] = {}
    for row in sheet.rows:
        if not row.point.informational and row.spec_point is not None:
            for warning in (*_overlaps(sheet, row, display), *_unjudgeable(row, rule, display)):
                found.setdefault(warning.message, warning)
    return tuple(found.values())


def _as_on_the_sheet(unit: Unit) -> Display:
    """The sheet shows fractions wherever a tape has the mark; what has none is told to the finest."""
    return Display(unit, DENOMINATORS[-1] if unit == Unit.INCH else None)


def _overlaps(sheet: SpecSheet, row: SheetRow, display: Display) -> tuple[SetupWarning, ...]:
    assert row.spec_point is not None
    # On the basis the tolerance is stated for: a full tolerance meets the step of the full girth.
    whole = 2 if row.point.kind == Kind.HALF and row.spec_point.basis == Basis.FULL else 1
    graded = [
        SizeRow(size, whole * cell.nominal_nm, cell.minus_nm, cell.plus_nm)
        for size, cell in zip(sheet.sizes, row.cells, strict=True)
        if cell is not None
    ]
    return setup_checks.overlap(row.point.code, graded, display=display)


def _unjudgeable(row: SheetRow, rule: Rule, display: Display) -> Iterator[SetupWarning]:
    assert row.spec_point is not None
    looked_at = set()
    for cell in row.cells:
        if cell is None or (cell.minus_nm, cell.plus_nm) in looked_at:
            continue
        looked_at.add((cell.minus_nm, cell.plus_nm))
        stored = SpecCell(
            spec_point=row.spec_point,
            nominal_nm=cell.nominal_nm,
            tolerance_minus_nm=cell.minus_nm,
            tolerance_plus_nm=cell.plus_nm,
        )
        try:
            plan = as_plan(stored)
            yield from setup_checks.judgeable(plan, rule, display=display)
            yield from setup_narrow.narrow(plan, rule, display=display)
        except ImpossibleInput as refusal:
            # A draft whose point was changed meanwhile; putting it in force is refused with the same words.
            yield SetupWarning(WarningKind.NEVER_JUDGEABLE, row.point.code, (), str(refusal))
