"""Rows without a reference that have the very figures of a piece stored before, or of a row above.

Without a reference nothing tells garments apart but what was measured. Two garments of one size seldom agree
at every side to the millimetre (common practice, no source); a file uploaded a second time always does, and
so does a row copied twice. In one file every row stands against every other, so more figures have to agree
there. Reckoned: two figures in whole millimetres that spread by 2 mm agree with a chance of 0.14, so of 50
pieces some two agree at six independent figures in one file of 100.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import groupby
from typing import TYPE_CHECKING, Final

from inventory.models import Batch, Reading
from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory.services.importing.pieces import Pieces
    from inventory.services.importing.report import Report

FEWEST: Final = 4
"""With fewer figures two garments are alike too often."""
FEWEST_IN_FILE: Final = 6
_AT_ONCE: Final = 20_000

_Figures = tuple[tuple[str, str, int], ...]
_Key = tuple[int, int, str, _Figures]


def find_unnamed_doubles(pieces: Pieces, report: Report) -> None:
    """Ask about rows of the same maker, style, size and figures as pieces of a batch, or as a row above."""
    unnamed = list(_unnamed(pieces))
    rows: defaultdict[_Key, list[int]] = defaultdict(list)
    for key, piece in unnamed:
        rows[key].append(pieces.row[piece])
    if not rows:
        return
    _ask_within(report, pieces, unnamed)
    met: defaultdict[int, set[_Key]] = defaultdict(set)
    for key, pk in _stored(set(rows)):
        met[pk].add(key)
    told: set[_Key] = set()
    for batch in Batch.objects.filter(pk__in=met).select_related("delivery").order_by("-number"):
        alike = [row for key in met[batch.pk] if key not in told for row in rows[key]]
        told |= met[batch.pk]
        if alike:
            _ask(report, sorted(alike), batch)


def _ask(report: Report, alike: list[int], batch: Batch) -> None:
    numbers = listed([str(row) for row in alike])
    named, asked, them, they = (
        (f"Row {numbers} has", "Is it the same garment", "it", "it")
        if len(alike) == 1
        else (f"Rows {numbers} have", "Are they the same garments", "them", "they")
    )
    report.doubles_found(
        alike[0],
        len(alike),
        f"{named} no reference and the very figures of pieces in {batch.label} of {batch.delivery.label}, of "
        f"the same maker, style and size. {asked} again? Then take {them} out: stored again {they} would "
        "count twice.",
    )


def _ask_within(report: Report, pieces: Pieces, unnamed: list[tuple[_Key, int]]) -> None:
    """Ask once about all rows that say the same as one above them, colour and carton too."""
    first: dict[tuple[_Key, int, str, str], int] = {}
    again = []
    for key, piece in unnamed:
        said = (key, pieces.group[piece], pieces.colour[piece], pieces.carton[piece])
        if len(key[-1]) >= FEWEST_IN_FILE and first.setdefault(said, piece) != piece:
            again.append((pieces.row[piece], pieces.row[first[said]]))
    if not again:
        return
    which = listed([f"{row} (as row {above})" for row, above in again])
    named, them, they = (
        (f"Row {which} has", "it", "it") if len(again) == 1 else (f"Rows {which} have", "them", "they")
    )
    report.doubles_found(
        again[0][0],
        len(again),
        f"{named} no reference and the very figures of a row above, of the same style and size. Is it one "
        f"garment, written twice? Then take {them} out: {they} would count twice.",
    )


def _unnamed(pieces: Pieces) -> Iterator[tuple[_Key, int]]:
    """Each piece that has no reference and enough figures, by its place."""
    for piece, reference in enumerate(pieces.reference):
        group = pieces.groups[pieces.group[piece]]
        if reference or pieces.existing[piece] is not None or group.maker is None or group.style is None:
            continue
        figures = tuple(
            sorted((one.code, one.side, int(nm)) for one in pieces.readings if (nm := one.nm[piece]) >= 0)
        )
        if len(figures) >= FEWEST:
            yield (group.maker.pk, group.style.pk, pieces.size[piece], figures), piece


def _stored(wanted: set[_Key]) -> Iterator[tuple[_Key, int]]:
    """What was stored as it was first read, sitting by sitting, with its batch; one statement."""
    readings = (
        Reading.objects.filter(
            corrects=None,
            inspection__piece__batch__delivery__maker__in={key[0] for key in wanted},
            inspection__piece__batch__style__in={key[1] for key in wanted},
            inspection__piece__size_label__in={key[2] for key in wanted},
        )
        .order_by("inspection")
        .values_list(
            "inspection",
            "inspection__piece__batch",
            "inspection__piece__batch__delivery__maker",
            "inspection__piece__batch__style",
            "inspection__piece__size_label",
            "point__code",
            "side",
            "length_nm",
        )
        .iterator(chunk_size=_AT_ONCE)
    )
    for (_, batch, maker, style, size), of_sitting in groupby(readings, key=lambda one: one[:5]):
        key = (maker, style, size, tuple(sorted((one[5], one[6], one[7]) for one in of_sitting)))
        if key in wanted:
            yield key, batch
