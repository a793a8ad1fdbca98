"""Which of several checks of one tape speaks for a reading, and which readings a bad check puts in doubt."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from inventory.calc.errors import ImpossibleInput
from inventory.calc.tape_class.findings import CheckFindings, CheckVerdict


@dataclass(frozen=True, slots=True)
class DatedCheck:
    """When a tape was checked, and what was found; `key` is the caller's own."""

    made_at: datetime
    findings: CheckFindings
    key: int | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """Readings after `after` (None: since the tape was first used) and up to `up_to` may be wrong."""

    after: datetime | None
    up_to: datetime
    found_by: DatedCheck


def newest_check(checks: Sequence[DatedCheck], *, at: datetime) -> DatedCheck | None:
    """The newest check not later than `at`, of two at the same time the later one given; None before any.

    Raises ImpossibleInput when some times carry a time zone and others do not.
    """
    _same_kind_of_times([at, *(check.made_at for check in checks)])
    best: DatedCheck | None = None
    for check in checks:
        if check.made_at <= at and (best is None or check.made_at >= best.made_at):
            best = check
    return best


def readings_in_doubt(checks: Sequence[DatedCheck]) -> tuple[Doubt, ...]:
    """For each time a tape went wrong: since its last good check, up to the last bad one in a row.

    A check that cannot tell is neither good nor bad: it ends no doubt and begins none. Oldest first.
    """
    _same_kind_of_times([check.made_at for check in checks])
    doubts: list[Doubt] = []
    last_good: datetime | None = None
    running = False
    for check in sorted(checks, key=lambda dated: dated.made_at):
        if check.findings.verdict is CheckVerdict.GOOD:
            last_good, running = check.made_at, False
        elif check.findings.verdict is CheckVerdict.NOT_GOOD:
            first = doubts.pop().found_by if running else check
            doubts.append(Doubt(last_good, check.made_at, first))
            running = True
    return tuple(doubts)


def _same_kind_of_times(times: Sequence[datetime]) -> None:
    if len({time.tzinfo is None for time in times}) > 1:
        raise ImpossibleInput("time of a check", "with and without a time zone", "Give all times with one")
