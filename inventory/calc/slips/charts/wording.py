"""The questions about a chart: what was typed, what else says how much, and one question to be answered."""

from collections.abc import Sequence
from typing import Final

from inventory.calc.length import Display, Parsed, Unit, show, show_exact
from inventory.calc.slips.kinds import Slip, SlipKind

SAME_NM: Final = 500_000
"""Half a millimetre apart is the same figure, rounded otherwise."""

_ENDINGS: Final = {
    SlipKind.FULL_FOR_HALF: "Is this the full girth, and the half {it}?",
    SlipKind.HALF_FOR_FULL: "Is this the half, and the full girth {it}?",
    SlipKind.INCH_FOR_CM: "Was it {figure} inches, so {it}?",
    SlipKind.INCH_FOR_MM: "Was it {figure} inches, so {it}?",
    SlipKind.CM_FOR_INCH: "Was it {figure} centimetres, so {it}?",
    SlipKind.CM_FOR_MM: "Was it {figure} centimetres, so {it}?",
    SlipKind.MM_FOR_INCH: "Was it {figure} millimetres, so {it}?",
    SlipKind.MM_FOR_CM: "Was it {figure} millimetres, so {it}?",
    SlipKind.DECIMAL_POINT: "Is the decimal point in the wrong place, is it {it}?",
    SlipKind.FRACTION_AS_DECIMALS: "Was the fraction typed as decimals, is it {it}?",
    SlipKind.START_MARK_INCH: "That is an inch more. Was it measured from the 1 inch mark, is it {it}?",
    SlipKind.START_MARK_10CM: "That is 10 cm more. Was it measured from the 10 cm mark, is it {it}?",
    SlipKind.SWAPPED_DIGITS: "Are two figures swapped, is it {it}?",
}


def display_like(others: Sequence[Parsed]) -> Display:
    """How lengths of a chart are shown: in its unit, as fractions where any of its inches is typed as one."""
    unit = others[0].unit
    in_fractions = unit is Unit.INCH and any("/" in one.typed for one in others)
    return Display(unit, 16 if in_fractions else None)


def question(
    typed: Parsed,
    *,
    beside_nm: int | None,
    in_force_nm: int | None,
    slip: Slip | None,
    others: Sequence[Parsed],
) -> str:
    """What stands against a figure, and which slip it may be.

    beside_nm: what the other sizes or the stated step lead to; in_force_nm: what the revision in force has.
    others: the figures of the row, this one among them.
    """
    display = display_like(others)
    told = [f"the other sizes lead to {show(beside_nm, display)}"] if beside_nm is not None else []
    if in_force_nm is not None and abs(in_force_nm - typed.nm) <= SAME_NM:
        told.append("the revision in force has the same figure")
    elif in_force_nm is not None:
        told.append(f"the revision in force has {show(in_force_nm, display)}")
    said = typed.typed.strip()
    said = said if typed.unit_was_typed else f"{said} {typed.unit}"
    against = f"Typed {said}, but {' and '.join(told)}." if told else f"Typed {said}."
    if slip is None or slip.kind not in _ENDINGS or slip.suggestion_nm is None:
        return f"{against} No honest step leads there. Is it meant so?"
    figure = show_exact(typed.nm, unit=typed.unit).rpartition(" ")[0]
    return f"{against} {_ENDINGS[slip.kind].format(figure=figure, it=show(slip.suggestion_nm, display))}"
