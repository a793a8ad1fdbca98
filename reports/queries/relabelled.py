"""Which pieces were given another size, from which to which, as the audit trail tells it."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.models import AuditRow
from inventory.models.pieces import Standing


@dataclass(frozen=True, slots=True)
class Relabelling:
    """One re-label of a piece: the size it carried, the size it carries since, and when."""

    from_size: str
    to_size: str
    at: dt.datetime


def relabellings_of(piece_ids: Iterable[int]) -> Mapping[int, Sequence[Relabelling]]:
    """The re-labels of these pieces by piece, oldest first; one statement."""
    found: defaultdict[int, list[Relabelling]] = defaultdict(list)
    rows = AuditRow.objects.filter(
        subject_type="piece",
        subject_id__in=list(piece_ids),
        deed=f"decide {Standing.RELABEL.label.lower()}",
    ).order_by("id")
    for row in rows:
        found[row.subject_id].append(
            Relabelling(row.detail.get("old_size", ""), row.detail.get("new_size", ""), row.at)
        )
    return found
