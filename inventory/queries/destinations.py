"""Where the pieces of a file can go besides into a delivery of their own."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from inventory.models import Batch, Delivery

if TYPE_CHECKING:
    from django.db.models import QuerySet

MOST_OFFERED: Final = 100
_LABEL: Final = re.compile(r"([DB])([0-9]{1,9})", re.IGNORECASE)


def latest_deliveries(*, most: int = MOST_OFFERED) -> QuerySet[Delivery]:
    """The deliveries that arrived last, with their makers: one statement."""
    return Delivery.objects.select_related("maker").order_by("-number")[:most]


def latest_batches(*, most: int = MOST_OFFERED) -> QuerySet[Batch]:
    """The newest batches, with style and delivery: one statement."""
    return Batch.objects.select_related("style", "delivery__maker").order_by("-number")[:most]


def destination(label: str) -> Delivery | Batch | None:
    """The delivery or batch of this label, with all that judging its pieces needs; None when there is none.

    A label is `D0007` or `B0012`, in any case and with fewer noughts.
    """
    found = _LABEL.fullmatch(label.strip())
    if found is None:
        return None
    if found[1].upper() == "D":
        return Delivery.objects.select_related("maker").filter(number=int(found[2])).first()
    return (
        Batch.objects.select_related("style", "spec__style", "delivery__maker")
        .filter(number=int(found[2]))
        .first()
    )
