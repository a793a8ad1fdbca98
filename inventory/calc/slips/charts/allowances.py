"""Tolerances and left-right limits of a chart, each against those of the other points.

Tolerances of one style lie close together: a few millimetres at lengths, twice or three times that at girths.
One that is five times the middle of the others, or a fifth of it and less than a millimetre, was rather typed
in another unit or with a digit too many (common practice, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from inventory.calc.length import NM_PER_MM, Parsed, show
from inventory.calc.slips.charts.wording import SAME_NM, display_like

_TIMES: Final = 5
_FEWEST: Final = 2
_TINY_NM: Final = NM_PER_MM
_OF_NOMINAL: Final = 0.25
_LARGE_NM: Final = 10 * NM_PER_MM


@dataclass(frozen=True, slots=True)
class Allowance:
    """One tolerance or limit as typed, of one point (and size, where it has its own).

    `nominal_nm` is the smallest nominal it holds for, None where there is none; `share` is 2 where it is
    stated for the full girth of a half, `in_force_nm` what the revision in force has.
    """

    code: str
    size: str
    typed: Parsed
    nominal_nm: int | None
    share: int = 1
    in_force_nm: int | None = None

    @property
    def nm(self) -> int:
        """Per side as read (nm), without a sign."""
        return abs(self.typed.nm) // self.share


def odd_allowances(allowances: Sequence[Allowance]) -> tuple[tuple[Allowance, str], ...]:
    """Those of one kind (all minus, all plus, or all left-right limits) that look like slips, each with its
    question.

    >>> from inventory.calc.length import Unit, parse
    >>> row = [Allowance(code, "", parse(text, unit=Unit.MM), 330_000_000)
    ...        for code, text in (("WA", "6"), ("UB", "8"), ("HH", "60"), ("CF", "5"))]
    >>> print(odd_allowances(row)[0][1])
    Typed 60 mm, but the other points have about 6 mm. Is a figure or the unit mistyped?
    """
    found = []
    for one in allowances:
        others = [other.nm for other in allowances if other.code != one.code and other.nm]
        question = _question(one, others)
        if question:
            found.append((one, question))
    return tuple(found)


def _question(one: Allowance, others: Sequence[int]) -> str:
    if not one.nm:
        return ""
    display = display_like([one.typed])
    said = one.typed.typed.strip()
    said = said if one.typed.unit_was_typed else f"{said} {one.typed.unit}"
    in_force_nm = one.in_force_nm
    if in_force_nm is not None and abs(abs(one.typed.nm) - in_force_nm) <= SAME_NM:
        return ""
    if one.nominal_nm is not None and one.nm >= one.nominal_nm:
        return f"Typed {said}, as much as the nominal {show(one.nominal_nm, display)} itself. Is it meant so?"
    told = []
    if len(others) >= _FEWEST and _is_odd(one.nm, middle := round(median(others))):
        told.append(f"the other points have about {show(middle * one.share, display)}")
    if in_force_nm and _is_odd(abs(one.typed.nm), in_force_nm):
        told.append(f"the revision in force has {show(in_force_nm, display)}")
    if told:
        return f"Typed {said}, but {' and '.join(told)}. Is a figure or the unit mistyped?"
    if (
        len(others) < _FEWEST
        and one.nominal_nm is not None
        and one.nm > max(_OF_NOMINAL * one.nominal_nm, _LARGE_NM)
    ):
        return (
            f"Typed {said}, more than a quarter of the nominal {show(one.nominal_nm, display)}. "
            "Is it meant so?"
        )
    return ""


def _is_odd(nm: int, usual_nm: int) -> bool:
    return nm >= _TIMES * usual_nm or (nm < _TINY_NM and nm * _TIMES <= usual_nm)
