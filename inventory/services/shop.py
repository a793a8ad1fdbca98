"""The shop's own settings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypedDict, Unpack

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc import working_days
from inventory.models import Shop
from inventory.models.shop import LengthUnit
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt
    from decimal import Decimal

    from inventory.models import User


_COSTS: Final = (
    ("cost_per_hour", "An hour of measuring costs"),
    ("cost_of_wrong_in", "Selling a piece that is out costs"),
    ("cost_of_wrong_out", "Refusing a piece that is in costs"),
)


class FractionsNeedInches(Refused):
    """Fractions are shown of inches only."""


class ClaimBeforeNotice(Refused):
    """The full table cannot be due before the notice it follows."""


class ClosedDaysRefused(Refused):
    """A line of the closed days says no day."""


class CostBelowZero(Refused):
    """Measuring pays nobody, and neither does a wrong verdict."""


class ShopValues(TypedDict, total=False):
    """What the owner chooses; see the model's fields."""

    name: str
    display_unit: str
    fraction_denominator: int | None
    blind_entry: bool
    paper: str
    notice_days: int
    full_claim_days: int
    closed_days: str
    measure_all_up_to: int
    minutes_per_reading: Decimal
    cost_per_hour: Decimal | None
    cost_of_wrong_in: Decimal | None
    cost_of_wrong_out: Decimal | None


@transaction.atomic
def change_shop(*, by: User, at: dt.datetime, **values: Unpack[ShopValues]) -> Shop:
    """Change the shop's choices; the closed days are kept in the order of the calendar.

    Raises `FractionsNeedInches`, `ClaimBeforeNotice`, `ClosedDaysRefused`, `CostBelowZero`,
    `ValidationError`.
    """
    require(by, Deed.ADMINISTER)
    if "closed_days" in values:
        values["closed_days"] = _in_order(values["closed_days"])
    stored, changed = changed_row(Shop.objects.current(), dict(values))
    if stored.fraction_denominator is not None and stored.display_unit != LengthUnit.INCH:
        unit = stored.get_display_unit_display().lower()
        raise FractionsNeedInches(
            f"Fractions to 1/{stored.fraction_denominator} were chosen with {unit}. "
            "Show lengths in inches, or as decimals.",
            field="fraction_denominator",
        )
    if stored.full_claim_days < stored.notice_days:
        raise ClaimBeforeNotice(
            f"The full table is due after {stored.full_claim_days} days, before the notice after "
            f"{stored.notice_days}. Give at least {stored.notice_days} days.",
            field="full_claim_days",
        )
    _refuse_negative(stored)
    if changed:
        # Only what was chosen here: receiving writes the counters of numbers, perhaps at the same time.
        stored.save(update_fields=list(changed))
        leave_row(who=by, deed="change shop", subject=stored, at=at, changed=changed)
    return stored


def _refuse_negative(shop: Shop) -> None:
    for field, thing in _COSTS:
        cost = getattr(shop, field)
        if cost is not None and cost < 0:
            raise CostBelowZero(f"{thing} {cost}. Give 0 or more, or leave the box empty.", field=field)


def _in_order(text: str) -> str:
    try:
        return "\n".join(str(stretch) for stretch in working_days.parse_closed_days(text))
    except working_days.ClosedDayNotUnderstood as refusal:
        raise ClosedDaysRefused(str(refusal), field="closed_days") from refusal
