"""The size run of a draft, its unit of record and its base size."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import F

from inventory.access import Deed, require
from inventory.models import Spec, SpecCell, SpecSize
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.refusals import Refused
from inventory.services.spec_cells import locked_draft

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User

MOST_SIZES = 60
LONGEST_LABEL = 12


class SizeRunWrong(Refused):
    """The sizes of a run are there once each, and the base size is one of them."""


class FiguresWouldBeLost(Refused):
    """Sizes with figures were left out of the run; `sizes` names them."""

    def __init__(self, sizes: Sequence[str]) -> None:
        super().__init__(
            f"Without {', '.join(sizes)} in the run, the figures filled in there are lost. "
            "Tick that you want this, or put the sizes back.",
            field="size_run",
        )
        self.sizes = tuple(sizes)


@transaction.atomic
def change_draft(
    *,
    spec: Spec,
    unit_of_record: str,
    size_labels: Sequence[str],
    base_size: str,
    reason: str,
    drop_figures: bool = False,
    by: User,
    at: dt.datetime,
) -> Spec:
    """Change a draft's frame. Lengths are stored exactly, so another unit of record changes none of them.

    A size that is taken out takes its figures along, but only with `drop_figures`. Raises `SizeRunWrong`,
    `FiguresWouldBeLost`, `SpecIsFrozen`.
    """
    require(by, Deed.SET_UP)
    draft = locked_draft(spec)
    check_run(size_labels, base_size)
    filled = set(
        SpecCell.objects.filter(spec_point__spec=draft).values_list("size__label", flat=True).distinct()
    )
    before = list(draft.sizes.order_by("position").values_list("label", flat=True))
    lost = [label for label in before if label in filled and label not in size_labels]
    if lost and not drop_figures:
        raise FiguresWouldBeLost(lost)
    stored, changed = changed_row(
        draft, {"unit_of_record": unit_of_record, "base_size": base_size, "reason": reason.strip()}
    )
    stored.save(update_fields=["unit_of_record", "base_size", "reason"])
    if before != list(size_labels):
        write_run(stored, size_labels)
        changed["sizes"] = [before, list(size_labels)]
    if changed:
        leave_row(who=by, deed="change draft", subject=stored, at=at, changed=changed)
    return stored


def check_run(size_labels: Sequence[str], base_size: str) -> None:
    """Raise `SizeRunWrong` unless the labels are few enough, short, different, and hold the base size."""
    if not 1 <= len(size_labels) <= MOST_SIZES:
        raise SizeRunWrong(
            f"The run has {len(size_labels)} sizes. Type from 1 to {MOST_SIZES}, such as 22, 24, 26.",
            field="size_run",
        )
    seen: set[str] = set()
    for label in size_labels:
        if not 1 <= len(label) <= LONGEST_LABEL:
            raise SizeRunWrong(
                f"Size {label!r} has {len(label)} signs. Use 1 to {LONGEST_LABEL}, with commas between.",
                field="size_run",
            )
        if label.casefold() in seen:
            raise SizeRunWrong(f"Size {label!r} is in the run twice. Remove one of them.", field="size_run")
        seen.add(label.casefold())
    if base_size not in size_labels:
        raise SizeRunWrong(
            f"Base size {base_size!r} is not in the run {', '.join(size_labels)}. Choose one of these.",
            field="base_size",
        )


def write_run(spec: Spec, size_labels: Sequence[str]) -> None:
    """Make the draft's sizes these, in this order; sizes that stay keep their figures."""
    spec.sizes.exclude(label__in=size_labels).delete()
    # Out of the way first: two sizes may not stand on one place, even for a moment.
    spec.sizes.update(position=F("position") + MOST_SIZES * 2)
    kept = {size.label: size for size in spec.sizes.all()}
    for position, label in enumerate(size_labels):
        if label in kept:
            kept[label].position = position
    SpecSize.objects.bulk_update(kept.values(), ["position"])
    SpecSize.objects.bulk_create(
        SpecSize(spec=spec, label=label, position=position)
        for position, label in enumerate(size_labels)
        if label not in kept
    )
