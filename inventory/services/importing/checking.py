"""Read a file through its mapping: the pieces, and the report of what is wrong, suspicious or left out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from inventory.services.importing.books import known_points
from inventory.services.importing.guard import look_for_slips
from inventory.services.importing.heaping import look_for_heaps
from inventory.services.importing.lines import Lines
from inventory.services.importing.mapping import TableMapping, check_columns
from inventory.services.importing.met_unnamed import find_unnamed_doubles
from inventory.services.importing.pieces import Pieces, read_pieces
from inventory.services.importing.refusals import MappingIncomplete
from inventory.services.importing.report import Report
from inventory.services.importing.roles import PointGuesser
from inventory.services.importing.sheets import named_columns

if TYPE_CHECKING:
    import datetime as dt

    from inventory.calc.length import Display
    from inventory.models import User
    from inventory.services.importing.books import Books
    from inventory.services.importing.files import Table

PREVIEW_ROWS = 15

Said = Callable[[int, int], None]


def check_pieces(
    table: Table,
    mapping: TableMapping,
    books: Books,
    *,
    by: User,
    at: dt.datetime,
    display: Display,
    said: Said | None,
) -> tuple[Pieces, Report]:
    """The pieces of a file and everything to be said about them. Raises `MappingIncomplete`.

    `said` is told how far the look for slips and heaps is; None leaves that look out.
    """
    labels = named_columns(table, mapping)
    _check_mapping(mapping, labels)
    report = Report()
    lines = Lines(table, mapping, labels, books, report, by=by, at=at)
    if not len(lines):
        report.error(0, "file", "No line below the header holds a piece. Is the header row right?")
        return Pieces(labels=labels), report
    pieces = read_pieces(lines)
    if said is not None:
        odd = look_for_slips(pieces, books, report, wide=mapping.layout == "wide", display=display, said=said)
        find_unnamed_doubles(pieces, report)
        look_for_heaps(pieces, books, report, odd=odd)
        report.seen_with = seen_with(pieces, display)
    _count(pieces, books, report)
    report.people = [one.as_json() for one in pieces.named]
    report.preview = _preview(pieces)
    report.unused = [label for label, column in zip(labels, mapping.columns, strict=True) if not column.role]
    if mapping.layout == "wide":
        report.remarks += _left_unsaid(report.unused, pieces)
    return pieces, report


def _left_unsaid(unused: list[str], pieces: Pieces) -> list[str]:
    """For each column left out though it has the name of points of the file's styles, which these are."""
    styles = [group.style for group in pieces.groups if group.style is not None]
    guesser = PointGuesser(known_points(styles))
    could_be = {label: " or ".join(guesser.could_be(label)) for label in unused}
    return [
        f"Column {label!r} is left out, but its figures could be {codes}. Choose it under Change the columns."
        for label, codes in could_be.items()
        if codes
    ]


def seen_with(pieces: Pieces, display: Display) -> list[str]:
    """All that slips, heaps and names depend on besides the file: if it is the same, so are they.

    A spec that judges is frozen; the reading errors of its points are counted in the style's version.
    """
    specs = {
        f"{group.spec.pk} {group.spec.style.points_version}"
        for group in pieces.groups
        if group.spec is not None
    }
    people = [f"{one.name} is {one.is_user or ' or '.join(one.could_be)}" for one in pieces.named]
    return [f"{display.unit.value} {display.denominator}", *sorted(specs), *people]


def _check_mapping(mapping: TableMapping, labels: list[str]) -> None:
    check_columns(mapping, labels)
    roles = {column.role for column in mapping.columns}
    if "size" not in roles:
        raise MappingIncomplete(
            "No column is the size on the label. Choose it: nothing is judged without a size."
        )
    wide = any(role.startswith("point:") for role in roles)
    if mapping.layout == "wide" and not wide:
        raise MappingIncomplete("No column holds readings. Say for at least one which point and side it is.")
    if mapping.layout == "long":
        missing = [name for name in ("reference", "point", "reading") if name not in roles]
        if missing:
            raise MappingIncomplete(
                f"With one reading a line the columns {', '.join(missing)} have to be chosen too."
            )


def _count(pieces: Pieces, books: Books, report: Report) -> None:
    readings = sum(int((column.nm >= 0).sum()) for column in pieces.readings)
    report.counts |= {
        "rows": len(pieces),
        "pieces": len(pieces),
        "readings": readings,
        "deliveries": len(
            {(one.maker, one.order, one.arrived_on) for one in pieces.groups if not one.delivery}
        ),
        "batches": sum(group.batch is None for group in pieces.groups),
        "numbered_before": sum(pk is not None for pk in pieces.existing),
        "incomplete": _incomplete(pieces, books),
    }
    report.remarks += [*_of_days(pieces), *_not_looked_at(pieces)]


def _of_days(pieces: Pieces) -> Iterator[str]:
    """What is odd about the days of measuring; nothing is compared with an arrival that nobody named."""
    undated = sum(moment is None for moment in pieces.taken_at)
    if undated:
        yield f"{undated} pieces say no day of measuring; the day they arrived is kept instead."
    arrived = [
        timezone.localdate(group.arrived_on) if group.arrival_said else None for group in pieces.groups
    ]
    early = [
        row
        for row, moment, group in zip(pieces.row, pieces.taken_at, pieces.group, strict=True)
        if moment is not None and (day := arrived[group]) is not None and timezone.localdate(moment) < day
    ]
    if early:
        yield f"{len(early)} pieces were measured before they arrived, first in row {early[0]}."


def _not_looked_at(pieces: Pieces) -> Iterator[str]:
    """That nothing can be looked through for slips where no spec says what a figure should be."""
    without = sum(pieces.groups[group].spec is None for group in pieces.group)
    if without:
        yield (
            f"{without} of {len(pieces)} pieces have no style or no spec yet, so their figures were not "
            "looked through for slips. Choose the style, then check again."
        )


def _incomplete(pieces: Pieces, books: Books) -> int:
    """Pieces of which a deciding side is not read: stored without a verdict."""
    read: dict[tuple[str, str], Any] = {}  # Any: an array of flags
    for column in pieces.readings:
        known = read.get((column.code, column.side))
        read[column.code, column.side] = column.nm >= 0 if known is None else known | (column.nm >= 0)
    missing = 0
    wanted: dict[tuple[int, str], list[Any]] = {}
    for piece, key in enumerate(zip(pieces.group, pieces.size, strict=True)):
        if key not in wanted:
            spec, size = pieces.groups[key[0]].spec, key[1]
            plans = [] if spec is None or not size else list(books.deciding(spec, size).values())
            wanted[key] = [read.get((plan.code, side)) for plan in plans for side in plan.sides]
        missing += any(column is None or not column[piece] for column in wanted[key])
    return missing


def _preview(pieces: Pieces) -> dict[str, Any]:  # Any: what JSON can hold
    """The first pieces as understood: lengths in millimetres beside what was typed."""
    words = [
        (name, values)
        for name, values in (
            ("Piece", pieces.reference),
            ("Size", pieces.size),
            ("Colour", pieces.colour),
            ("Carton", pieces.carton),
        )
        if any(values[:PREVIEW_ROWS])
    ]  # fmt: skip
    head = ["Row", *(name for name, _ in words), "Style", "Measured", *(
        f"{column.code} {column.side} {column.repeat if column.repeat > 1 else ''}".strip()
        for column in pieces.readings
    )]  # fmt: skip
    rows = []
    for piece in range(min(PREVIEW_ROWS, len(pieces))):
        group = pieces.groups[pieces.group[piece]]
        taken = pieces.taken_at[piece]
        rows.append(
            [
                str(pieces.row[piece]),
                *(values[piece] for _, values in words),
                str(group.spec) if group.spec is not None else "",
                taken.strftime("%Y-%m-%d") if taken else "",
                *(int(nm) if (nm := column.nm[piece]) >= 0 else None for column in pieces.readings),
            ]
        )
    return {"columns": head, "rows": rows, "lengths_from": len(words) + 3}
