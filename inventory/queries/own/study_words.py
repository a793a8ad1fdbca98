"""What a study says of a point, in plain words and in the shop's unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.calc.length import show_uncertainty

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inventory.calc.gauge_study import Study as Found
    from inventory.calc.length import Display

GOOD_PERCENT, POOR_PERCENT = 10, 30
"""Of the tolerance: up to so much is usually called good, from so much on too much (common practice)."""


def said_of(found: Found, names: Mapping[str, str], display: Display) -> list[str]:
    """A few sentences, the most needed first; `names` says how a person is shown."""
    sentences = [_of_people(found, names, display), _of_repeats(found, display), _of_hands(found, display)]
    percent = found.measuring.percent_of_tolerance
    if percent is not None:
        sentences.append(_of_tolerance(percent))
    return sentences


def _of_people(found: Found, names: Mapping[str, str], display: Display) -> str:
    lowest, highest = (pick(found.people, key=lambda one: one.bias_nm) for pick in (min, max))
    apart_nm = highest.bias_nm - lowest.bias_nm
    if not apart_nm:
        return "Everybody reads the same on the mean."
    short, long = (names.get(one.person, one.person) for one in (lowest, highest))
    sentence = f"{long} reads {show_uncertainty(apart_nm, display)} longer than {short} on the mean"
    if lowest.differs or highest.differs:
        return f"{sentence}, more than chance would make."
    return f"{sentence}; that can be chance."


def _of_repeats(found: Found, display: Display) -> str:
    part = found.repeatability
    return (
        f"A repeat by the same person scatters by {show_uncertainty(part.sd_nm, display)} "
        f"(standard deviation; between {show_uncertainty(part.low_nm, display)} and "
        f"{show_uncertainty(part.high_nm, display)})."
    )


def _of_hands(found: Found, display: Display) -> str:
    part = found.reproducibility
    high = show_uncertainty(part.high_nm, display)
    if not part.sd_nm:
        return f"That other hands add anything cannot be seen here; it may still be up to {high}."
    return f"Other hands add {show_uncertainty(part.sd_nm, display)}; it may be up to {high}."


def _of_tolerance(percent: float) -> str:
    how = (
        "which is usually called good"
        if percent <= GOOD_PERCENT
        else "which is usually called too much"
        if percent > POOR_PERCENT
        else "which is usually called usable"
    )
    return f"Our measuring takes up {percent:.0f} % of the tolerance, {how}."
