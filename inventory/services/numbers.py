"""Numbers for labels, counted up and never used twice."""

from __future__ import annotations

from typing import Literal

from django.db.models import F

from inventory.models import Shop

Counter = Literal["last_piece_number", "last_batch_number", "last_delivery_number"]


def next_numbers(counter: Counter, *, count: int = 1) -> range:
    """The next `count` free numbers; call inside the transaction that uses them.

    The update locks the shop's row until that transaction ends, so two people numbering at once wait for
    one another; if the transaction fails the numbers are free again.
    """
    Shop.objects.filter(pk=Shop.ONLY).update(**{counter: F(counter) + count})
    last: int = Shop.objects.values_list(counter, flat=True).get(pk=Shop.ONLY)
    return range(last - count + 1, last + 1)
