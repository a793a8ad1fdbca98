"""Slips that show in the typed text rather than in the length."""

import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from typing import Final

from inventory.calc.errors import LengthNotUnderstood
from inventory.calc.length import Parsed, Unit, nm_per_unit, parse

# 12 5/8 typed as 12.58: the digits of the fraction after the point, .12 .14 .18 .34 .38 .58 .78 for eighths
# and .116 to .1516 for sixteenths.
_FRACTION_DIGITS: Final = {
    f"{Fraction(sixteenths, 16)}".replace("/", ""): Fraction(sixteenths, 16) for sixteenths in range(1, 16)
}
_DECIMAL_TAIL: Final = re.compile(r"[0-9]+[.,](?P<digits>[0-9]{2,4})(?![0-9/])")
_HONEST_ROUNDING: Final = 128
"""12.38 for 12 3/8 is honest rounding: closer than half of 1/64 inch, nothing to ask."""


def swapped_digits(reading: Parsed) -> tuple[int, ...]:
    """Lengths (nm) that the typed text would mean with two neighbouring digits the other way round.

    >>> swapped_digits(parse("342", unit=Unit.MM))
    (432000000, 324000000)
    """
    return tuple(dict.fromkeys(_swaps(reading)))


def _swaps(reading: Parsed) -> Iterator[int]:
    typed = reading.typed
    places = [place for place, sign in enumerate(typed) if sign in "0123456789"]
    for left, right in pairwise(places):
        # Across a decimal point or comma too, but not between a whole number and its fraction.
        if typed[left] == typed[right] or (right - left > 1 and typed[left + 1 : right] not in ".,"):
            continue
        text = f"{typed[:left]}{typed[right]}{typed[left + 1 : right]}{typed[left]}{typed[right + 1 :]}"
        try:
            swapped = parse(text, unit=reading.unit).nm
        except LengthNotUnderstood:
            continue
        if swapped != reading.nm:
            yield swapped


def fraction_behind_decimals(reading: Parsed) -> int | None:
    """The length (nm) if the decimals of an inch figure are the digits of a fraction, else None.

    >>> fraction_behind_decimals(parse("12.58", unit=Unit.INCH)) == parse("12 5/8", unit=Unit.INCH).nm
    True
    """
    if reading.unit != Unit.INCH or not (tail := _DECIMAL_TAIL.match(reading.typed.strip())):
        return None
    fraction = _FRACTION_DIGITS.get(tail["digits"])
    if fraction is None:
        return None
    per_inch = nm_per_unit()[Unit.INCH]
    suggestion = reading.nm // per_inch * per_inch + int(fraction * per_inch)
    return suggestion if abs(suggestion - reading.nm) * _HONEST_ROUNDING > per_inch else None
