"""What a tape check found: errors, start, stretch, verdict, and the correction of a reading.

Each error is a mean of readings minus the rule. Its uncertainty has a part of the reading (repeats, and the
division the tape is read to, which repeats do not shrink: the same tape on the same rule is rounded the same
way each time) and a part of the rule. Between and beyond the two lengths the error is taken as a straight
line; beyond, its uncertainty grows.
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import NM_PER_MM, Unit, show_exact
from inventory.calc.tape_class.check import CheckedLength, TapeCheck, signed_mm
from inventory.calc.tape_class.classes import TapeClass, mpe_nm


class CheckVerdict(StrEnum):
    """What a check says of a tape."""

    GOOD = "good"
    NOT_GOOD = "not_good"
    CANNOT_TELL = "cannot_tell"

    @property
    def label(self) -> str:
        """The verdict in words."""
        return {"good": "good", "not_good": "not good", "cannot_tell": "cannot tell"}[self.value]


@dataclass(frozen=True, slots=True)
class Correction:
    """A reading set right: error taken off (nm), corrected reading (nm), and the u (nm) of the error.

    `repeat_nm` is the share of u that comes from the spread of the check's repeats, with `repeat_dof` degrees
    of freedom (None: nothing was repeated); the rest is known well. `beyond`: the reading lies outside the
    two checked lengths.
    """

    error_nm: float
    u_nm: float
    corrected_nm: int
    beyond: bool
    repeat_nm: float = 0.0
    repeat_dof: int | None = None


@dataclass(frozen=True, slots=True)
class CheckFindings:
    """What a check found; lengths and uncertainties in nm, `stretch` in nm per nm (−0.01: reads 1 % short).

    `repeat_sd_nm` is the SD of repeats over both lengths, `dof` its degrees of freedom: zero and None when no
    length was read twice. `allowed_nm` is what the tape may
    be off at each of the two lengths, `guard_nm` what the check itself may be off.
    """

    check: TapeCheck
    errors_nm: tuple[float, float]
    reading_u_nm: tuple[float, float]
    start_nm: float
    u_start_nm: float
    stretch: float
    u_stretch: float
    repeat_sd_nm: float
    dof: int | None
    allowed_nm: tuple[int, int]
    guard_nm: tuple[float, float]
    verdicts: tuple[CheckVerdict, CheckVerdict]
    verdict: CheckVerdict
    reasons: tuple[str, ...]

    def correct(self, reading_nm: int) -> Correction:
        """The correction for a reading of this length, which must be above zero."""
        if reading_nm <= 0:
            raise ImpossibleInput("reading", show_exact(reading_nm, unit=Unit.MM), "Give a length above zero")
        near, far = self.check.shorter.rule_nm, self.check.longer.rule_nm
        share = (reading_nm - near) / (far - near)
        error = self.errors_nm[0] + share * (self.errors_nm[1] - self.errors_nm[0])
        reading_part = math.hypot((1 - share) * self.reading_u_nm[0], share * self.reading_u_nm[1])
        # The rule's own error is common to both lengths: no averaging, and it grows beyond the longer.
        rule_part = self.check.rule_u_nm * max(1.0, reading_nm / far)
        counts = (len(self.check.shorter.readings_nm), len(self.check.longer.readings_nm))
        return Correction(
            error_nm=error,
            u_nm=math.hypot(reading_part, rule_part),
            repeat_nm=self.repeat_sd_nm
            * math.hypot((1 - share) / counts[0] ** 0.5, share / counts[1] ** 0.5),
            repeat_dof=self.dof,
            corrected_nm=reading_nm - round(error),
            beyond=not near <= reading_nm <= far,
        )

    def uncorrected_u_nm(self, reading_nm: int) -> float:
        """Standard uncertainty (nm) of a reading left uncorrected: the known error counts in full."""
        found = self.correct(reading_nm)
        return math.hypot(found.error_nm, found.u_nm)


def evaluate(
    check: TapeCheck,
    *,
    tape_class: TapeClass,
    allowed_nm: int | None = None,
    from_end: bool = True,
    coverage: float = 2.0,
) -> CheckFindings:
    """Errors, start, stretch and verdict of a check, guarded by `coverage` times the check's own u.

    The limit is the MPE of the class (`from_end`: the tape is laid from its end or hook); for a tape without
    a class, or a shop with a limit of its own, `allowed_nm`. ImpossibleInput when neither is there.

    >>> check = TapeCheck(shorter=CheckedLength(300_000_000, (297_000_000,)),
    ...                   longer=CheckedLength(600_000_000, (594_000_000,)))
    >>> found = evaluate(check, tape_class=TapeClass.II)
    >>> found.verdict.label, found.stretch, found.correct(450_000_000).corrected_nm
    ('not good', -0.01, 454500000)
    """
    if not 0 <= coverage < math.inf:
        raise ImpossibleInput("coverage factor", coverage, "Give zero or more")
    lengths = (check.shorter, check.longer)
    sd_nm, dof = _pooled_sd(lengths)
    near, far = (_reading_u(length, sd_nm=sd_nm, check=check) for length in lengths)
    us = (math.hypot(near, check.rule_u_nm), math.hypot(far, check.rule_u_nm))
    errors = (check.shorter.error_nm, check.longer.error_nm)
    apart = check.longer.rule_nm - check.shorter.rule_nm
    stretch = (errors[1] - errors[0]) / apart
    share = check.shorter.rule_nm / apart
    allowed = (
        _allowed(tape_class, check.shorter.rule_nm, allowed_nm=allowed_nm, from_end=from_end),
        _allowed(tape_class, check.longer.rule_nm, allowed_nm=allowed_nm, from_end=from_end),
    )
    guards = (coverage * us[0], coverage * us[1])
    verdicts = (_judge(errors[0], allowed[0], guards[0]), _judge(errors[1], allowed[1], guards[1]))
    found = CheckFindings(
        check=check,
        errors_nm=errors,
        reading_u_nm=(near, far),
        start_nm=errors[0] - stretch * check.shorter.rule_nm,
        u_start_nm=math.hypot((1 + share) * us[0], share * us[1]),
        stretch=stretch,
        u_stretch=math.hypot(*us) / apart,
        repeat_sd_nm=sd_nm,
        dof=dof,
        allowed_nm=allowed,
        guard_nm=guards,
        verdicts=verdicts,
        verdict=_worst(verdicts),
        reasons=(),
    )
    return replace(found, reasons=_reasons(found))


def _pooled_sd(lengths: tuple[CheckedLength, CheckedLength]) -> tuple[float, int | None]:
    """SD of repeats over both lengths (nm) and its degrees of freedom; zero and None without repeats."""
    dof = sum(len(length.readings_nm) - 1 for length in lengths)
    if not dof:
        return 0.0, None
    squares = math.fsum(
        (reading - length.rule_nm - length.error_nm) ** 2
        for length in lengths
        for reading in length.readings_nm
    )
    return math.sqrt(squares / dof), dof


def _reading_u(length: CheckedLength, *, sd_nm: float, check: TapeCheck) -> float:
    return math.hypot(sd_nm / math.sqrt(len(length.readings_nm)), check.division_nm / math.sqrt(12))


def _allowed(tape_class: TapeClass, length_nm: int, *, allowed_nm: int | None, from_end: bool) -> int:
    if allowed_nm is None and tape_class is TapeClass.UNCLASSED:
        raise ImpossibleInput(
            "limit for a tape without a class", "not stated", "State how far the shop lets its tapes be off"
        )
    if allowed_nm is None:
        return mpe_nm(tape_class, length_nm, from_end=from_end)
    if allowed_nm <= 0:
        raise ImpossibleInput("limit for tapes", show_exact(allowed_nm, unit=Unit.MM), "Give one above zero")
    return allowed_nm


def _judge(error_nm: float, allowed_nm: int, guard_nm: float) -> CheckVerdict:
    if abs(error_nm) + guard_nm <= allowed_nm:
        return CheckVerdict.GOOD
    return CheckVerdict.NOT_GOOD if abs(error_nm) - guard_nm > allowed_nm else CheckVerdict.CANNOT_TELL


def _worst(verdicts: tuple[CheckVerdict, CheckVerdict]) -> CheckVerdict:
    for verdict in (CheckVerdict.NOT_GOOD, CheckVerdict.CANNOT_TELL):
        if verdict in verdicts:
            return verdict
    return CheckVerdict.GOOD


_SAYS = {
    CheckVerdict.GOOD: "within the {allowed} it may be off",
    CheckVerdict.NOT_GOOD: "more than the {allowed} it may be off",
    CheckVerdict.CANNOT_TELL: "too near the {allowed} it may be off: this check is sure to {guard} only",
}


def _reasons(found: CheckFindings) -> tuple[str, ...]:
    lengths = (found.check.shorter.rule_nm, found.check.longer.rule_nm)
    by_length = tuple(
        f"At {show_exact(length, unit=Unit.MM)} the tape reads {signed_mm(error)} against the rule: "
        + _SAYS[verdict].format(allowed=_plain_mm(allowed), guard=_plain_mm(guard))
        + "."
        for length, error, allowed, guard, verdict in zip(
            lengths, found.errors_nm, found.allowed_nm, found.guard_nm, found.verdicts, strict=True
        )
    )
    return (*by_length, *_reasons_of_the_line(found), *_cure(found))


def _reasons_of_the_line(found: CheckFindings) -> tuple[str, ...]:
    """Stretch and start, said only where they stand out of twice their own uncertainty."""
    said = []
    if abs(found.stretch) > 2 * found.u_stretch:
        how = "stretched: it reads short" if found.stretch < 0 else "shrunk: it reads long"
        said.append(f"The tape is {how}, {abs(found.stretch) * 100:.1f} % of every length.")
    if abs(found.start_nm) > 2 * found.u_start_nm:
        said.append(f"Its start is off by {signed_mm(found.start_nm)}, the same on every reading.")
    return tuple(said)


def _cure(found: CheckFindings) -> tuple[str, ...]:
    if found.verdict is CheckVerdict.NOT_GOOD:
        return ("Take another tape, or correct its readings by this check.",)
    if found.verdict is CheckVerdict.CANNOT_TELL:
        return ("Repeat the check and estimate tenths of a division, or correct its readings by this check.",)
    return ()


def _plain_mm(nm: float) -> str:
    return f"{nm / NM_PER_MM:.1f} mm"
