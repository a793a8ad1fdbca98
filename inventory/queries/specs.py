"""What a spec revision says: the graded sheet, what is missing, what to mind, what differs between two."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Q

from inventory.models import MeasurePoint, Spec, SpecCell, SpecPoint

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from django.db.models import QuerySet


@dataclass(frozen=True, slots=True)
class Cell:
    """One point in one size; lengths in nm, the nominal as read."""

    nominal_nm: int
    minus_nm: int
    plus_nm: int


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One point across the sizes; `spec_point` is None while a draft says nothing of it yet."""

    point: MeasurePoint
    spec_point: SpecPoint | None
    cells: tuple[Cell | None, ...]

    @property
    def tolerances(self) -> frozenset[tuple[int, int]]:
        """The different (minus, plus) of the row, in nm."""
        return frozenset((cell.minus_nm, cell.plus_nm) for cell in self.cells if cell is not None)

    @property
    def common_tolerance(self) -> tuple[int, int] | None:
        """(minus, plus) in nm when it is the same in all sizes; None when it differs or there is none."""
        found = self.tolerances
        return next(iter(found)) if len(found) == 1 else None

    @property
    def tolerance_differs(self) -> bool:
        return len(self.tolerances) > 1


@dataclass(frozen=True, slots=True)
class SpecSheet:
    """A revision as it is printed: sizes across, points down in walk order."""

    spec: Spec
    sizes: tuple[str, ...]
    rows: tuple[SheetRow, ...]

    @property
    def missing(self) -> dict[str, tuple[str, ...]]:
        """Point code to the sizes without figures; empty when the sheet is complete."""
        gaps = {
            row.point.code: tuple(
                size for size, cell in zip(self.sizes, row.cells, strict=True) if cell is None
            )
            for row in self.rows
        }
        return {code: sizes for code, sizes in gaps.items() if sizes}

    def row_of(self, code: str) -> SheetRow | None:
        """The row of a point, if the sheet has it."""
        return next((row for row in self.rows if row.point.code == code), None)


def spec_for_reading(pk: int) -> Spec | None:
    """One revision with its style and author."""
    return Spec.objects.select_related("style", "author").filter(pk=pk).first()


def specs_of(style_id: int) -> QuerySet[Spec]:
    """All revisions of a style, newest first."""
    return Spec.objects.filter(style=style_id).select_related("author").order_by("-revision")


def draft_of(style_id: int) -> Spec | None:
    """The style's open draft, if any."""
    return (
        Spec.objects.filter(style=style_id, state=Spec.State.DRAFT).select_related("style", "author").first()
    )


def sheet_of(spec: Spec) -> SpecSheet:
    """The sheet of a revision, in four queries.

    A draft shows every active point of the style, so that a new one is not forgotten; a revision that was
    in force shows the points it was agreed with, those retired since included.
    """
    sizes = tuple(spec.sizes.order_by("position").values_list("label", flat=True))
    spec_points = {row.point_id: row for row in spec.spec_points.select_related("point")}
    cells: defaultdict[int, dict[str, Cell]] = defaultdict(dict)
    found = SpecCell.objects.filter(spec_point__spec=spec).values_list(
        "spec_point__point_id", "size__label", "nominal_nm", "tolerance_minus_nm", "tolerance_plus_nm"
    )
    for point_id, size, nominal_nm, minus_nm, plus_nm in found:
        cells[point_id][size] = Cell(nominal_nm, minus_nm, plus_nm)
    return SpecSheet(
        spec=spec,
        sizes=sizes,
        rows=tuple(
            SheetRow(point, spec_points.get(point.pk), tuple(cells[point.pk].get(size) for size in sizes))
            for point in _points_of(spec, spec_points)
        ),
    )


def _points_of(spec: Spec, agreed: Iterable[int]) -> Sequence[MeasurePoint]:
    wanted = Q(pk__in=list(agreed)) if spec.is_frozen else Q(is_active=True)
    return list(MeasurePoint.objects.filter(wanted, style=spec.style_id).order_by("position", "id"))
