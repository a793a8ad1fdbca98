"""What changed from one revision of a spec to another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.models.points import Basis, FavourableSide

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory.models import MeasurePoint
    from inventory.queries.specs import Cell, SheetRow, SpecSheet


@dataclass(frozen=True, slots=True)
class LengthChange:
    """One length that changed, in the sizes named; empty: in all. None: there was, or is, none."""

    what: str
    sizes: str
    before_nm: int | None
    after_nm: int | None

    @property
    def by_nm(self) -> int | None:
        """After minus before."""
        if self.before_nm is None or self.after_nm is None:
            return None
        return self.after_nm - self.before_nm


@dataclass(frozen=True, slots=True)
class WordChange:
    """One choice that changed."""

    what: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class PointDifference:
    """What changed at one point."""

    point: MeasurePoint
    is_new: bool
    is_gone: bool
    words: tuple[WordChange, ...]
    lengths: tuple[LengthChange, ...]


@dataclass(frozen=True, slots=True)
class Differences:
    """Everything that differs between two revisions of one style, in walk order."""

    sizes_added: tuple[str, ...]
    sizes_removed: tuple[str, ...]
    words: tuple[WordChange, ...]
    points: tuple[PointDifference, ...]

    @property
    def none(self) -> bool:
        return not (self.sizes_added or self.sizes_removed or self.words or self.points)


def differences(old: SpecSheet, new: SpecSheet) -> Differences:
    """Sizes, points, choices and figures that differ from `old` to `new`. No query."""
    return Differences(
        sizes_added=tuple(size for size in new.sizes if size not in old.sizes),
        sizes_removed=tuple(size for size in old.sizes if size not in new.sizes),
        words=tuple(_frame(old, new)),
        points=tuple(_points(old, new)),
    )


def _frame(old: SpecSheet, new: SpecSheet) -> Iterator[WordChange]:
    for what, before, after in (
        ("unit of record", old.spec.unit_of_record, new.spec.unit_of_record),
        ("base size", old.spec.base_size, new.spec.base_size),
    ):
        if before != after:
            yield WordChange(what, before, after)


def _points(old: SpecSheet, new: SpecSheet) -> Iterator[PointDifference]:
    before = {row.point.pk: row for row in old.rows}
    for row in new.rows:
        was = before.pop(row.point.pk, None)
        if was is None:
            yield PointDifference(row.point, is_new=True, is_gone=False, words=(), lengths=())
            continue
        words, lengths = tuple(_words(was, row)), tuple(_lengths(old, was, new, row))
        if words or lengths:
            yield PointDifference(row.point, is_new=False, is_gone=False, words=words, lengths=lengths)
    for row in before.values():
        yield PointDifference(row.point, is_new=False, is_gone=True, words=(), lengths=())


def _words(was: SheetRow, row: SheetRow) -> Iterator[WordChange]:
    old, new = was.spec_point, row.spec_point
    if old is None or new is None:
        return
    if old.basis != new.basis:
        yield WordChange("basis", Basis(old.basis).label, Basis(new.basis).label)
    if old.favourable_side != new.favourable_side:
        yield WordChange(
            "favourable side",
            FavourableSide(old.favourable_side).label,
            FavourableSide(new.favourable_side).label,
        )


def _lengths(old: SpecSheet, was: SheetRow, new: SpecSheet, row: SheetRow) -> Iterator[LengthChange]:
    for what, name in (
        ("left-right limit", "asymmetry_limit_nm"),
        ("limit on the favourable side", "favourable_limit_nm"),
        ("grade step", "grade_step_nm"),
    ):
        before, after = getattr(was.spec_point, name, None), getattr(row.spec_point, name, None)
        if before != after:
            yield LengthChange(what, "", before, after)
    yield from _tolerance(old, was, new, row, side="minus")
    yield from _tolerance(old, was, new, row, side="plus")
    yield from _by_size(old, was, new, row, what="nominal", name="nominal_nm")


def _tolerance(
    old: SpecSheet, was: SheetRow, new: SpecSheet, row: SheetRow, *, side: str
) -> Iterator[LengthChange]:
    before, after = was.common_tolerance, row.common_tolerance
    if before is None or after is None:
        yield from _by_size(old, was, new, row, what=f"tolerance {side}", name=f"{side}_nm")
        return
    place = 0 if side == "minus" else 1
    if before[place] != after[place]:
        yield LengthChange(f"tolerance {side}", "", before[place], after[place])


def _by_size(
    old: SpecSheet, was: SheetRow, new: SpecSheet, row: SheetRow, *, what: str, name: str
) -> Iterator[LengthChange]:
    """Changes in the sizes both have; a size that came or went is told once, for the whole sheet.

    Sizes that changed in the same way are told together.
    """
    before: dict[str, Cell | None] = dict(zip(old.sizes, was.cells, strict=True))
    shared = [size for size in new.sizes if size in before]
    alike: dict[tuple[int | None, int | None], list[str]] = {}
    for size, cell in zip(new.sizes, row.cells, strict=True):
        if size in before and (was_nm := _of(before[size], name)) != (is_nm := _of(cell, name)):
            alike.setdefault((was_nm, is_nm), []).append(size)
    for (was_nm, is_nm), sizes in alike.items():
        yield LengthChange(what, "" if sizes == shared else ", ".join(sizes), was_nm, is_nm)


def _of(cell: Cell | None, name: str) -> int | None:
    return None if cell is None else int(getattr(cell, name))
