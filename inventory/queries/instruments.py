"""Tapes and their checks: the newest of each, when the next is due, what each check found."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.timezone import localdate

from inventory.models import Instrument, TapeCheck
from inventory.queries.tape_corrections import as_dated

if TYPE_CHECKING:
    from collections.abc import Iterable

    from inventory.calc.tape_class import CheckFindings

TAPES = (Instrument.Kind.TAPE, Instrument.Kind.TYPING_TAPE)


@dataclass(frozen=True, slots=True)
class InstrumentRow:
    """An instrument with its newest check, and the day its next is due; None: no day is set."""

    instrument: Instrument
    outcome: str
    checked_at: dt.datetime | None
    due_on: dt.date | None
    today: dt.date

    @property
    def is_tape(self) -> bool:
        """Whether it is checked at all."""
        return self.instrument.kind in TAPES

    @property
    def outcome_words(self) -> str:
        """What the newest check said; empty before the first."""
        return TapeCheck.Outcome(self.outcome).label if self.outcome else ""

    @property
    def is_due(self) -> bool:
        """Whether its check is due today or was before."""
        return self.due_on is not None and self.due_on <= self.today

    @property
    def days_over(self) -> int:
        """How many days ago the check was due; 0 on the day itself."""
        return (self.today - self.due_on).days if self.due_on is not None else 0

    @property
    def is_wrong(self) -> bool:
        """Whether the newest check found it wrong."""
        return self.outcome == TapeCheck.Outcome.NOT_GOOD


def rows_of_instruments(*, today: dt.date) -> list[InstrumentRow]:
    """All instruments, those in use first. One statement."""
    rows = [_row(instrument, today) for instrument in _with_newest(Instrument.objects.all())]
    return sorted(rows, key=lambda row: (row.instrument.retired_on is not None, row.instrument.number))


def row_of(pk: int, *, today: dt.date) -> InstrumentRow | None:
    """One instrument; None when there is none."""
    instrument = _with_newest(Instrument.objects.filter(pk=pk)).first()
    return None if instrument is None else _row(instrument, today)


def tapes_to_see_to(*, today: dt.date) -> list[InstrumentRow]:
    """The tapes in use whose check is due, or whose newest check found them wrong. One statement."""
    tapes = _with_newest(Instrument.objects.filter(retired_on=None, kind__in=TAPES).order_by("number"))
    return [row for row in (_row(tape, today) for tape in tapes) if row.is_due or row.is_wrong]


def checks_of(instrument: Instrument) -> list[tuple[TapeCheck, CheckFindings]]:
    """Every check of an instrument with what it found, newest first. One statement."""
    checks = instrument.checks.select_related("checked_by", "against").order_by("-checked_at", "-pk")
    return with_findings(checks)


def with_findings(checks: Iterable[TapeCheck]) -> list[tuple[TapeCheck, CheckFindings]]:
    """Checks with what they found, worked out again from what was read."""
    return [(check, as_dated(check).findings) for check in checks]


def check_by_id(pk: int, *, instrument: int) -> TapeCheck | None:
    """One check of an instrument, with its readings; None when there is none."""
    found = TapeCheck.objects.select_related("instrument", "against", "checked_by")
    return found.prefetch_related("readings").filter(pk=pk, instrument=instrument).first()


def _with_newest(instruments: QuerySet[Instrument]) -> QuerySet[Instrument]:
    newest = TapeCheck.objects.filter(instrument=OuterRef("pk")).order_by("-checked_at", "-pk")
    return instruments.annotate(
        newest_outcome=Subquery(newest.values("outcome")[:1]),
        newest_at=Subquery(newest.values("checked_at")[:1]),
    )


def _row(instrument: Instrument, today: dt.date) -> InstrumentRow:
    at: dt.datetime | None = getattr(instrument, "newest_at", None)
    due_on = None
    if instrument.check_every_days is not None and instrument.kind in TAPES:
        due_on = localdate(at) + dt.timedelta(days=instrument.check_every_days) if at else today
    return InstrumentRow(
        instrument=instrument,
        outcome=getattr(instrument, "newest_outcome", None) or "",
        checked_at=at,
        due_on=due_on,
        today=today,
    )
