"""The referee: a girth added up panel by panel, against the straight reading.

A shaped part will not lie flat all at once; its panels will, one by one. The sum does not feel the bulge and
shows which panel is off, but every panel adds its own rounding and its own two seams.
"""

import math
from collections.abc import Sequence

from inventory.calc.errors import ImpossibleInput
from inventory.calc.geometry import panel_sum
from inventory.calc.length import Display, show, show_uncertainty
from inventory.calc.level.working import Given, Outcome, Working, WorkingKind, whole_u

COVERAGE = 2
"""Both uncertainties together times this: a difference past it is a difference (about 95 %)."""


def referee(
    panels_nm: Sequence[int],
    *,
    straight_nm: int,
    u_straight_nm: float,
    step_nm: int,
    u_panel_nm: float,
    matters_nm: int,
    display: Display,
    nominals_nm: Sequence[int] | None = None,
) -> Working:
    """Compare the straight reading with the sum of its panels (both halves or both full girths; nm).

    ``step_nm``: what the panels were rounded to. ``u_panel_nm``: standard uncertainty of one panel, seam to
    seam, without the rounding. ``matters_nm``: the difference from which it would matter, such as half the
    tolerance. They *agree* if any difference is surely less than that, *differ* if it is larger than twice
    both uncertainties together, and else one *cannot tell*. ``nominals_nm`` of the panels names the one
    furthest off. Raises ImpossibleInput for panels without width, or nominals that do not go with them.

    >>> from inventory.calc.length import Unit
    >>> found = referee([55_000_000, 54_000_000, 56_000_000], straight_nm=170_000_000, u_straight_nm=1e6,
    ...                 step_nm=1_000_000, u_panel_nm=500_000, matters_nm=3_000_000, display=Display(Unit.MM))
    >>> print(found.outcome, found.sentence, sep=": ")
    differ: The straight reading is 5 mm longer than the sum of the panels, more than the 2.9 mm that both \
may be off. Go by the panels: the tape may have been slanted, or the cloth pulled.
    """
    if straight_nm <= 0:
        raise ImpossibleInput("straight reading", show(straight_nm, display), "Give a length above zero")
    if matters_nm <= 0:
        raise ImpossibleInput(
            "difference that matters", show(matters_nm, display), "Give a length above zero"
        )
    added = panel_sum(panels_nm, step_nm=step_nm)
    u_seams_nm = math.sqrt(len(panels_nm)) * whole_u(u_panel_nm, "uncertainty of a panel")
    u_sum_nm = math.hypot(added.u_rounding_nm, u_seams_nm)
    both_nm = whole_u(
        COVERAGE * math.hypot(u_sum_nm, whole_u(u_straight_nm, "uncertainty of the straight reading"))
    )
    difference_nm = straight_nm - added.total_nm
    outcome = _compared(abs(difference_nm), both_nm, matters_nm)
    sentence = _sentence(outcome, difference_nm, both_nm, matters_nm, display)
    if nominals_nm is not None:
        sentence += _furthest_off(panels_nm, nominals_nm, display)
    return Working(
        kind=WorkingKind.PANELS,
        given=(
            *(Given(f"Panel {number}", panel_nm) for number, panel_nm in enumerate(panels_nm, start=1)),
            Given("Straight reading", straight_nm),
            Given("Panels rounded to", step_nm),
            Given("Difference that matters", matters_nm),
        ),
        formula=(
            "Sum of the panels; the rounding and the two seams of each add up as the root of their number; "
            "the difference to the straight reading against twice both uncertainties together"
        ),
        result="Sum of the panels",
        result_nm=added.total_nm,
        u_nm=whole_u(u_sum_nm),
        outcome=outcome,
        sentence=sentence,
    )


def _compared(size_nm: int, both_nm: int, matters_nm: int) -> Outcome:
    if size_nm + both_nm <= matters_nm:
        return Outcome.AGREE
    return Outcome.DIFFER if size_nm > both_nm else Outcome.CANNOT_TELL


def _sentence(outcome: Outcome, difference_nm: int, both_nm: int, matters_nm: int, display: Display) -> str:
    size = show(abs(difference_nm), display)
    way = "longer" if difference_nm > 0 else "shorter"
    band = show_uncertainty(both_nm, display)
    if outcome is Outcome.AGREE:
        return f"They agree: {size} apart, and surely less than the {show(matters_nm, display)} that matter."
    if outcome is Outcome.CANNOT_TELL:
        return (
            f"Cannot tell: {size} apart, within the {band} that both may be off, "
            "but that is too much to call it agreement. Read the panels again, more finely."
        )
    cause = (
        "the tape may have been slanted, or the cloth pulled"
        if difference_nm > 0
        else "the part may not have lain flat"
    )
    return (
        f"The straight reading is {size} {way} than the sum of the panels, more than the {band} that both "
        f"may be off. Go by the panels: {cause}."
    )


def _furthest_off(panels_nm: Sequence[int], nominals_nm: Sequence[int], display: Display) -> str:
    if len(nominals_nm) != len(panels_nm):
        fault = f"{len(nominals_nm)} for {len(panels_nm)} panels"
        raise ImpossibleInput("number of panel nominals", fault, "Give one for each panel")
    off = [panel - nominal for panel, nominal in zip(panels_nm, nominals_nm, strict=True)]
    number = max(range(len(off)), key=lambda place: abs(off[place]))
    if not off[number]:
        return " Every panel is as asked for."
    return f" Furthest off is panel {number + 1}, by {show(off[number], display, signed=True)}."
