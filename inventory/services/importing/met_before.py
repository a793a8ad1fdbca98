"""Pieces of a file that are in the shop already: the same file saved anew, or a corrected copy of it.

Within one order the references of a maker tell its garments apart. So a reference that is known from the same
maker, order, day of arrival, style and cutting is the same garment: stored again it would count twice.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from django.utils import timezone

from inventory.models import Batch, Piece
from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from inventory.services.importing.groups import Group
    from inventory.services.importing.lines import Lines
    from inventory.services.importing.pieces import Pieces

_Key = tuple[int, int, str, str, dt.date]


@dataclass(slots=True)
class _Met:
    """The rows of one group that stand in one batch already."""

    rows: list[int] = field(default_factory=list)
    references: list[str] = field(default_factory=list)


def find_met_before(lines: Lines, pieces: Pieces) -> None:
    """An error for each batch that holds pieces of the file already, with how many and which they are.

    The batch the file goes into is left out: its pieces are matched with the rows one by one.
    """
    if lines.cells("reference") is None:
        return
    keys = [_key(group) for group in pieces.groups]
    known = _known({key for key in keys if key is not None})
    of_group = Counter(pieces.group)
    met: dict[tuple[int, Batch], _Met] = {}
    for row, reference, group in zip(pieces.row, pieces.reference, pieces.group, strict=True):
        batch = known.get((keys[group], reference.casefold()))
        if batch is not None and batch != pieces.groups[group].batch:
            one = met.setdefault((group, batch), _Met())
            one.rows.append(row)
            one.references.append(reference)
    for (group, batch), one in met.items():
        lines.report.error(
            one.rows[0],
            lines.label("reference"),
            f"{len(one.rows)} of {of_group[group]} pieces are in {batch.label} of {batch.delivery.label} "
            f"already, under the same references ({listed(one.references, most=3)}), with the same maker, "
            "order, arrival and style. Stored again they would count twice. Take these rows out, and correct "
            f"a reading at the piece itself. If they wait in {batch.label} to be measured, choose it as the "
            "place for the pieces; if they are other garments, give them other references.",
        )


def _key(group: Group) -> _Key | None:
    if group.maker is None or group.style is None or not group.arrival_said:
        return None
    return _key_of(group.maker.pk, group.style.pk, group.order, group.cutting, group.arrived_on)


def _key_of(maker: int, style: int, order: str, cutting: str, arrived: dt.datetime) -> _Key:
    return maker, style, order.casefold(), cutting.casefold(), timezone.localdate(arrived)


def _known(keys: set[_Key]) -> dict[tuple[_Key | None, str], Batch]:
    """The latest batch that holds a reference, by maker, style, order, cutting and day."""
    batches: dict[int, tuple[_Key, Batch]] = {}
    wanted = Batch.objects.filter(
        delivery__maker__in={key[0] for key in keys}, style__in={key[1] for key in keys}
    )
    for batch in wanted.select_related("delivery"):
        of = batch.delivery
        key = _key_of(of.maker_id, batch.style_id, of.order_reference, batch.cutting_reference, of.arrived_at)
        if key in keys:
            batches[batch.pk] = key, batch
    pieces = Piece.objects.filter(batch__in=batches).exclude(maker_reference="").order_by("batch__number")
    return {
        (batches[pk][0], reference.casefold()): batches[pk][1]
        for pk, reference in pieces.values_list("batch", "maker_reference")
    }
