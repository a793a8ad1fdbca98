"""What was read with a tape that was found wrong later, and has not been judged again since."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Count, Q, QuerySet
from django.utils.timezone import localtime

from inventory.models import Batch, Instrument, Piece, PieceVerdict, Shop
from inventory.queries.tape_corrections import tapes_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from inventory.models import Inspection, Reading
    from inventory.queries.tape_corrections import Known


@dataclass(frozen=True, slots=True)
class BatchInDoubt:
    """A batch with so many pieces whose verdict rests on a tape that was found wrong."""

    batch: Batch
    pieces: int


@dataclass(frozen=True, slots=True)
class TapeInDoubt:
    """A tape found wrong, and how many pieces are judged by what it read before, not yet again."""

    instrument: int
    number: str
    since: dt.datetime | None
    found_at: dt.datetime
    pieces: int

    @property
    def words(self) -> str:
        """Such as `read with tape T1, found wrong on 12 Nov 2026`."""
        return _words(self.number, self.found_at)


def doubt_of(reading: Reading, *, shop: Shop) -> str:
    """What to say beside a reading whose tape was found wrong later; empty where there is nothing to say."""
    known = tapes_of(shop).of(reading)
    if known is None or known.segment.found is None:
        return ""
    return _words(known.number, known.segment.found.made_at)


def doubts_of_readings(readings: Iterable[Reading], *, shop: Shop) -> tuple[str, ...]:
    """The same of many, each once. No statement when what is known is kept."""
    return tuple(dict.fromkeys(text for text in (doubt_of(one, shop=shop) for one in readings) if text))


def doubts_of_sitting(inspection: Inspection, *, shop: Shop) -> tuple[str, ...]:
    """The same of a sitting whose readings are loaded."""
    return doubts_of_readings(inspection.readings.all(), shop=shop)


def tapes_in_doubt(*, shop: Shop, batch: Batch | None = None) -> list[TapeInDoubt]:
    """Per stretch of time the tapes found wrong with pieces not judged again, in all or in one batch.

    No statement where no tape was ever found wrong; else one per stretch.
    """
    found = []
    for known in tapes_of(shop).in_doubt():
        pieces = pieces_to_judge_again(known)
        if batch is not None:
            pieces = pieces.filter(batch=batch)
        count = pieces.count()
        if count and known.segment.found is not None:
            found.append(
                TapeInDoubt(
                    known.instrument, known.number, known.segment.since, known.segment.found.made_at, count
                )
            )
    return found


def pieces_to_judge_again(known: Known) -> QuerySet[Piece]:
    """Pieces whose verdict rests on readings of this stretch and is older than the check that doubts them."""
    segment = known.segment
    assert segment.found is not None
    read = Q(
        inspection__readings__instrument=known.instrument,
        inspection__readings__corrections=None,
    )
    if segment.since is not None:
        read &= Q(inspection__readings__taken_at__gte=segment.since)
    if segment.until is not None:
        read &= Q(inspection__readings__taken_at__lt=segment.until)
    verdicts = PieceVerdict.objects.filter(read, is_current=True, judged_at__lt=segment.found.made_at)
    return Piece.objects.filter(pk__in=verdicts.values("piece"))


def batches_in_doubt(instrument: Instrument, *, shop: Shop) -> list[BatchInDoubt]:
    """The batches with pieces that an instrument read before it was found wrong, newest first."""
    pieces = pieces_of_tape(instrument, shop=shop)
    counts = dict(pieces.order_by().values_list("batch").annotate(Count("pk")))
    batches = Batch.objects.filter(pk__in=counts).select_related("style", "delivery__maker")
    return [BatchInDoubt(batch, counts[batch.pk]) for batch in batches.order_by("-number")]


def pieces_of_tape(instrument: Instrument, *, shop: Shop) -> QuerySet[Piece]:
    """All pieces to be judged again because this tape was found wrong."""
    pieces = Piece.objects.none()
    for known in tapes_of(shop).in_doubt():
        if known.instrument == instrument.pk:
            pieces = pieces | pieces_to_judge_again(known)
    return pieces


def _words(number: str, found_at: dt.datetime) -> str:
    return f"read with tape {number}, found wrong on {localtime(found_at):%-d %b %Y}"
