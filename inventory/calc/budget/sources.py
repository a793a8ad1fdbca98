"""The parts of a tape reading, each for one reading of the length itself, before any adding or averaging."""

import math
from collections.abc import Sequence

from inventory.calc.budget.component import Component, Distribution, Known
from inventory.calc.errors import ImpossibleInput
from inventory.calc.geometry import height_sensitivity, u_from_height_nm
from inventory.calc.length import Unit, show_exact
from inventory.calc.tape_class import CheckFindings, TapeClass, mpe_nm
from inventory.calc.uncertainty import ReadingError


def from_class(tape_class: TapeClass, length_nm: int, *, from_end: bool = True) -> Component:
    """The tape, by its class: MPE/√3. Raises ImpossibleInput for a tape without one; see `tape` for that.

    >>> round(from_class(TapeClass.II, 330_000_000).u_nm)
    404145
    """
    limit = mpe_nm(tape_class, length_nm, from_end=from_end)
    return Component(
        name="tape",
        u_nm=Distribution.RECTANGULAR.u_from_half_width(limit),
        source=f"{tape_class.label}: may be off {show_exact(limit, unit=Unit.MM)} at this length",
        distribution=Distribution.RECTANGULAR,
    )


def from_tape_check(findings: CheckFindings, length_nm: int, *, corrected: bool) -> Component:
    """The tape, by its own check: what a correction leaves, or the whole error where none is made.

    Only the spread of the check's repeats is known by few degrees of freedom; the rest is known well.
    """
    found = findings.correct(length_nm)
    u_nm = found.u_nm if corrected else findings.uncorrected_u_nm(length_nm)
    # Welch and Satterthwaite with a single part of few degrees of freedom.
    dof = found.repeat_dof * (u_nm / found.repeat_nm) ** 4 if found.repeat_dof and found.repeat_nm else None
    how = "corrected" if corrected else "not corrected"
    return Component("tape", u_nm, f"tape check, readings {how}", dof=dof, known=Known.A)


def tape(u_nm: float, *, source: str = "stated by the shop") -> Component:
    """The tape, by a statement: for one without a class that was not checked."""
    return Component("tape", u_nm, source)


def resolution(division_nm: int) -> Component:
    """Reading to a division: anywhere within half of it either way, so division/√12 for each reading.

    Leave it out when the repeatability comes from readings to the same division: it is in there already.

    >>> round(resolution(1_000_000).u_nm)
    288675
    """
    if division_nm < 0:
        raise ImpossibleInput("division", show_exact(division_nm, unit=Unit.MM), "Give zero or more")
    return Component(
        name="division",
        u_nm=division_nm / math.sqrt(12),
        source=f"read to {show_exact(division_nm, unit=Unit.MM)}",
        distribution=Distribution.RECTANGULAR,
    )


def repeatability(error: ReadingError, *, source: str) -> Component:
    """The same hands laying the tape again: the SD of one reading, known as well as its study."""
    return _of_study("repeat", error.repeat_sd_nm, error.repeat_dof, source)


def person(error: ReadingError, *, source: str) -> Component:
    """Other hands: the SD between people, known as well as its study."""
    return _of_study("person", error.person_sd_nm, error.person_dof, source)


def placing_share(error: ReadingError) -> float:
    """The share of the person's variance that is new with each side, and so never cancels (0 to 1)."""
    return (error.placing_sd_nm / error.person_sd_nm) ** 2 if error.person_sd_nm else 0.0


def level(
    girth_nm: int, neighbours: Sequence[tuple[int, int]], *, u_height_nm: float, source: str = "level"
) -> Component:
    """Not finding the height of the point: |change of girth per height| × u of the height.

    `neighbours` as for `level_sensitivity`.
    """
    slope = level_sensitivity(girth_nm, neighbours)
    return Component("level", u_from_height_nm(slope, u_height_nm=u_height_nm), source)


def level_sensitivity(girth_nm: int, neighbours: Sequence[tuple[int, int]]) -> float:
    """The steepest change of girth per height (mm per mm, no sign) towards any neighbouring girth.

    `neighbours` are pairs of a girth of the same kind and its distance in height (nm, above zero). The
    steepest, for nobody knows to which side the level was missed. Raises ImpossibleInput without any.

    >>> level_sensitivity(330_000_000, [(430_000_000, 200_000_000), (390_000_000, 100_000_000)])
    0.6
    """
    if not neighbours:
        raise ImpossibleInput("level", "without a neighbouring girth", "Give the girth above or below")
    return max(abs(height_sensitivity(girth_nm, other, distance_nm=gap)) for other, gap in neighbours)


def state(u_nm: float, *, source: str) -> Component:
    """The state of the garment (rested, laced, pressed): what the shop states, in its own words."""
    return Component("state", u_nm, source)


def _of_study(name: str, sd_nm: int, dof: int | None, source: str) -> Component:
    if dof is None:
        return Component(name, sd_nm, source)
    return Component(name, sd_nm, source, dof=dof, distribution=Distribution.STUDENT, known=Known.A)
