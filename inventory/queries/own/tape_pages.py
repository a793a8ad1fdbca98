"""What the pages of a tape show of its checks: each length's error against what is allowed, and a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from django.utils.timezone import localtime

from inventory.queries.own.run_charts import RunChart, Spot
from inventory.queries.tape_corrections import as_dated

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inventory.calc.tape_class import CheckFindings
    from inventory.models import TapeCheck

PICTURED: Final = 20


@dataclass(frozen=True, slots=True)
class CheckedAt:
    """One of the two lengths of a check: error, what is allowed, the check's own doubt, verdict; in nm."""

    rule_nm: int
    typed: str
    error_nm: int
    allowed_nm: int
    guard_nm: int
    outcome: str


@dataclass(frozen=True, slots=True)
class CheckResult:
    """A check as it is told: its lengths, its reasons in words, what is added to readings from now on."""

    lengths: tuple[CheckedAt, ...]
    reasons: tuple[str, ...]
    corrections: tuple[tuple[int, int, int], ...]
    """Length read, what is added to it, and twice the standard uncertainty of that; nm."""


def findings_of(check: TapeCheck) -> CheckResult:
    """What a stored check found; load its `readings`."""
    found = as_dated(check).findings
    typed: dict[int, list[str]] = {}
    for reading in check.readings.all():
        typed.setdefault(reading.rule_length_nm, []).append(reading.typed)
    lengths = tuple(
        CheckedAt(
            rule_nm=length.rule_nm,
            typed=", ".join(typed.get(length.rule_nm, ())),
            error_nm=round(found.errors_nm[place]),
            allowed_nm=found.allowed_nm[place],
            guard_nm=round(found.guard_nm[place]),
            outcome=found.verdicts[place].label,
        )
        for place, length in enumerate((found.check.shorter, found.check.longer))
    )
    middle_nm = (lengths[0].rule_nm + lengths[1].rule_nm) // 2
    read = (lengths[0].rule_nm, middle_nm, lengths[1].rule_nm)
    corrections = [found.correct(nm) for nm in read]
    return CheckResult(
        lengths=lengths,
        reasons=found.reasons,
        corrections=tuple(
            (nm, -round(one.error_nm), round(2 * one.u_nm)) for nm, one in zip(read, corrections, strict=True)
        ),
    )


def chart_of(checks: Sequence[tuple[TapeCheck, CheckFindings]]) -> RunChart | None:
    """The error at the longer length over the newest checks, given newest first; None before any.

    What is allowed is that of the newest.
    """
    if not checks:
        return None
    newest = checks[0][1]
    spots = [
        Spot(
            found.errors_nm[1],
            f"{localtime(check.checked_at):%-d %b %Y}",
            signals=check.outcome == check.Outcome.NOT_GOOD,
        )
        for check, found in reversed(checks[:PICTURED])
    ]
    return RunChart(
        title="Error of the tape at the longer length, check by check",
        spots=spots,
        lower_nm=-newest.allowed_nm[1],
        upper_nm=newest.allowed_nm[1],
        centre_nm=0,
        signed=True,
    )
