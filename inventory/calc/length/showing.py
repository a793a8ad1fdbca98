"""A length as text.

`show` rounds, once, half to even, from the exact length, and only for the eye: millimetres to 0.1,
centimetres to 0.01, inches to 0.001, or to the shop's fraction where no tape has the mark. A multiple of
1/64 inch is a mark of some tape and is shown exactly, whatever fraction the shop chose: 14 9/16 rounded to
14 1/2 stands on its nominal beside a needle that does not, and halves rounded one by one no longer add up
to the full girth. So sums, differences and means of two or four such readings add up on the page; the
shop's fraction is for what no tape shows, such as a reading in millimetres or a mean of three.

Unsigned figures drop trailing zeros (`343 mm`); signed ones keep them so that columns line up (`+6.0 mm`).
A deviation that rounds to zero has no sign. Two lengths that differ by less than the step can look alike:
`shows_exactly` tells, and `show_exact` never rounds. An uncertainty is no mark of a tape: see
`show_uncertainty`.
"""

import math
from dataclasses import dataclass
from typing import Final

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length.units import DENOMINATORS, Unit, nm_per_unit, round_to

_MINUS: Final = "\N{MINUS SIGN}"
_DECIMALS: Final = {Unit.MM: 1, Unit.CM: 2, Unit.INCH: 3}
_UNCERTAIN_DECIMALS: Final = {Unit.MM: 1, Unit.CM: 2, Unit.INCH: 2}
_INCH_PRIME: Final = 127  # 25 400 000 = 127 x 200 000: a multiple of 127 nm is a finite decimal of inches


@dataclass(frozen=True, slots=True)
class Display:
    """How a shop wants lengths shown: a unit, and for inches the fraction to round to (None: decimals).

    Raises ImpossibleInput for a fraction of anything but inches, or one that no tape shows.
    """

    unit: Unit
    denominator: int | None = None

    def __post_init__(self) -> None:
        if self.denominator is None:
            return
        if self.unit != Unit.INCH:
            raise ImpossibleInput("display", f"fractions of {self.unit}", "Show fractions only in inches")
        if self.denominator not in DENOMINATORS:
            choices = ", ".join(f"1/{d}" for d in DENOMINATORS)
            raise ImpossibleInput("display", f"1/{self.denominator} in", f"Choose one of {choices}")


def show(nm: int, display: Display, *, signed: bool = False, with_unit: bool = True) -> str:
    """A length (or with `signed` a deviation) in the shop's unit, rounded for reading as said above.

    >>> show(342_900_000, Display(Unit.INCH, 8)), show(342_900_000, Display(Unit.MM))
    ('13 1/2 in', '342.9 mm')
    >>> show(369_887_500, Display(Unit.INCH, 8)), show(343_000_000, Display(Unit.INCH, 8))
    ('14 9/16 in', '13 1/2 in')
    >>> show(-6_000_000, Display(Unit.MM), signed=True)
    '−6.0 mm'
    """
    step_nm, per_unit = _step(int(nm), display)
    steps = round_to(int(nm), step_nm=step_nm) // step_nm
    if display.denominator is not None:
        figure = _mixed(abs(steps), per_unit)
    else:
        figure = _decimal(abs(steps), _DECIMALS[display.unit], keep_zeros=signed)
    sign = _MINUS if steps < 0 else "+" if signed and steps > 0 else ""
    return f"{sign}{figure} {display.unit}" if with_unit else f"{sign}{figure}"


def shows_exactly(nm: int, display: Display) -> bool:
    """Whether `show` gives this length without rounding it.

    >>> shows_exactly(342_900_000, Display(Unit.CM)), shows_exactly(339_725_000, Display(Unit.CM))
    (True, False)
    """
    return nm % _step(nm, display)[0] == 0


def show_uncertainty(nm: float, display: Display, *, with_unit: bool = True) -> str:
    """An uncertainty or a guard band (nm): decimals of the shop's unit, rounded up, so only 0 looks like 0.

    To 0.1 mm, 0.01 cm or 0.01 in, also where lengths are shown as fractions: to the nearest 1/8 in most
    uncertainties would be none. Rounding up understates nothing; JCGM 100:2008, 7.2.6, allows it.

    >>> show_uncertainty(1_500_000, Display(Unit.INCH, 8)), show_uncertainty(3_290_000, Display(Unit.MM))
    ('0.06 in', '3.3 mm')
    """
    decimals = _UNCERTAIN_DECIMALS[display.unit]
    steps = -(-math.ceil(nm) * 10**decimals // nm_per_unit()[display.unit])
    figure = _decimal(steps, decimals, keep_zeros=True)
    return f"{figure} {display.unit}" if with_unit else figure


def show_exact(nm: int, *, unit: Unit) -> str:
    """A length without any rounding; reading the text back gives the same nanometres.

    Inches are shown as a fraction if a tape has the mark, else as a decimal if that ends, else the
    length is shown in millimetres. Negative lengths carry a minus sign (read back by `parse_signed`).

    >>> show_exact(320_675_000, unit=Unit.INCH), show_exact(343_000_000, unit=Unit.INCH)
    ('12 5/8 in', '343 mm')
    """
    size = abs(int(nm))
    sign = _MINUS if nm < 0 else ""
    per_inch = nm_per_unit()[Unit.INCH]
    if unit == Unit.INCH and size % (per_inch // DENOMINATORS[-1]) == 0:
        return f"{sign}{_mixed(size * DENOMINATORS[-1] // per_inch, DENOMINATORS[-1])} in"
    if unit == Unit.INCH and size % _INCH_PRIME == 0:
        return f"{sign}{_decimal(size * 10**6 // per_inch, 6, keep_zeros=False)} in"
    if unit == Unit.CM:
        return f"{sign}{_decimal(size, 7, keep_zeros=False)} cm"
    return f"{sign}{_decimal(size, 6, keep_zeros=False)} mm"


def show_within(nm: int, display: Display, *, signed: bool = False, with_unit: bool = True) -> str:
    """A stretch within which something holds, rounded down: what is shown holds, on a tape to 1/32 in.

    >>> show_within(2_237_500, Display(Unit.INCH, 8)), show_within(2_710_000, Display(Unit.MM))
    ('1/16 in', '2.7 mm')
    """
    step_nm = _step(nm, display)[0] if display.denominator is None else nm_per_unit()[Unit.INCH] // 32
    inside = abs(nm) // step_nm * step_nm
    return show(inside if nm >= 0 else -inside, display, signed=signed, with_unit=with_unit)


def propose(nm: int, *, unit: Unit) -> str:
    """A planning value as one would type it in this unit; in inches the nearest 1/16, but never none.

    Planning values are round figures: 6 mm in one unit is 1/4 in in the other (common practice, no source).

    >>> propose(6_000_000, unit=Unit.INCH), propose(500_000, unit=Unit.INCH), propose(6_000_000, unit=Unit.MM)
    ('1/4 in', '1/16 in', '6 mm')
    """
    per_inch = nm_per_unit()[Unit.INCH]
    if unit == Unit.INCH and nm % (per_inch // DENOMINATORS[-1]):
        sixteenth_nm = per_inch // 16
        nm = max(round_to(nm, step_nm=sixteenth_nm), sixteenth_nm)
    return show_exact(nm, unit=unit)


def _step(nm: int, display: Display) -> tuple[int, int]:
    """The rounding step in nm for a length, and how many steps make the unit; whole for every display."""
    unit_nm = nm_per_unit()[display.unit]
    if display.denominator is None:
        per_unit = 10 ** _DECIMALS[display.unit]
    else:
        finest = DENOMINATORS[-1]
        per_unit = display.denominator if nm % (unit_nm // finest) else finest
    return unit_nm // per_unit, per_unit


def _mixed(parts: int, denominator: int) -> str:
    whole, part = divmod(parts, denominator)
    while part and part % 2 == 0:
        part //= 2
        denominator //= 2
    if not part:
        return str(whole)
    return f"{whole} {part}/{denominator}" if whole else f"{part}/{denominator}"


def _decimal(steps: int, decimals: int, *, keep_zeros: bool) -> str:
    whole, part = divmod(steps, 10**decimals)
    digits = f"{part:0{decimals}d}"
    if not keep_zeros:
        digits = digits.rstrip("0")
    return f"{whole}.{digits}" if digits else str(whole)
