"""The same reading sent twice is stored once: what its key stands for, whatever refused the second copy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db import IntegrityError

from inventory.calc import length
from inventory.calc.errors import CalcError
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a reading says, to tell one that comes again from another one under the same key.

    `sitting` None: whichever is open.
    """

    number: int
    sitting: int | None
    code: str
    side: str
    typed: str
    unit: length.Unit | None
    corrects: int | None

    def is_what_was_stored(self, before: Reading) -> bool:
        """Whether the stored reading says the same, of the same piece in the same sitting."""
        stored = (before.point.code, before.side, before.typed, before.corrects_id)
        return (
            stored == (self.code, self.side, self.typed.strip(), self.corrects)
            and self.number == before.inspection.piece.number
            and self.sitting in (None, before.inspection_id)
            and self._means(before.length_nm)
        )

    def _means(self, stored_nm: int) -> bool:
        try:
            return self.unit is None or length.parse(self.typed, unit=self.unit).nm == stored_nm
        except CalcError:
            return False


def come_again(refusal: Exception, key: uuid.UUID | None, said: Said) -> Recorded:
    """What was stored under the key before, when that is why the database or the sitting refused."""
    stored = Reading.objects.select_related("point", "inspection__piece__batch__style")
    before = stored.filter(client_key=key).first() if key else None
    if before is not None:
        plans = plans_of(before.inspection.piece.batch)
        return stored_before(
            before,
            said,
            readings=in_effect(before.inspection.readings.all(), plans),
            shop=Shop.objects.current(),
        )
    if isinstance(refusal, IntegrityError) and "correct" in str(refusal):
        raise CannotCorrect(
            "Somebody corrected that reading a moment ago. Load the page again and look at the newest one."
        ) from refusal
    raise refusal


def stored_before(before: Reading, said: Said, *, readings: tuple[Reading, ...], shop: Shop) -> Recorded:
    """The reading stored under the key, come again. Raises `ClientKeyReused` when it is another one."""
    if not said.is_what_was_stored(before):
        raise ClientKeyReused(
            f"Key {before.client_key} already stands for the reading {before.typed!r} of {before.point.code} "
            f"{before.side}. Send a new reading with a key of its own."
        )
    questions = tuple(before.slip_questions.filter(answer=""))
    return Recorded(before, created=False, questions=questions, readings=readings, shop=shop)
