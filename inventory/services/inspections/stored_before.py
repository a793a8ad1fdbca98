"""The same reading sent twice is stored once: what its key stands for, whatever refused the second copy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import IntegrityError

from inventory.models import Reading, Shop
from inventory.queries.bench.sheet import in_effect
from inventory.queries.plans import plans_of
from inventory.services.inspections.refusals import CannotCorrect, ClientKeyReused

if TYPE_CHECKING:
    import uuid

    from inventory.models import SlipQuestion


@dataclass(frozen=True, slots=True)
class Recorded:
    """A stored reading; `created` is false when the same key had been stored before.

    `readings` are all readings in effect of the sitting, this one among them.
    """

    reading: Reading
    created: bool
    questions: tuple[SlipQuestion, ...]
    readings: tuple[Reading, ...]
    shop: Shop


def come_again(refusal: Exception, key: uuid.UUID | None, *, code: str, side: str, typed: str) -> Recorded:
    """What was stored under the key before, when that is why the database or the sitting refused."""
    before = Reading.objects.select_related("point").filter(client_key=key).first() if key else None
    if before is not None:
        plans = plans_of(before.inspection.piece.batch)
        return stored_before(
            before,
            code=code,
            side=side,
            typed=typed,
            readings=in_effect(before.inspection.readings.all(), plans),
            shop=Shop.objects.current(),
        )
    if isinstance(refusal, IntegrityError) and "correct" in str(refusal):
        raise CannotCorrect(
            "Somebody corrected that reading a moment ago. Load the page again and look at the newest one."
        ) from refusal
    raise refusal


def stored_before(
    before: Reading, *, code: str, side: str, typed: str, readings: tuple[Reading, ...], shop: Shop
) -> Recorded:
    if (before.point.code, before.side, before.typed) != (code, side, typed.strip()):
        raise ClientKeyReused(
            f"Key {before.client_key} already stands for the reading {before.typed!r} of {before.point.code} "
            f"{before.side}. Send a new reading with a key of its own."
        )
    questions = tuple(before.slip_questions.filter(answer=""))
    return Recorded(before, created=False, questions=questions, readings=readings, shop=shop)
