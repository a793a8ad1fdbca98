"""The grammar of typed lengths.

    length   := feet | figure [unit]
    feet     := digits foot-sign [["-"] figure [inch-sign]]          1' 2 1/4"
    figure   := decimal | fraction
    decimal  := digits | digits point digits | point digits          343   34,3   .5
    fraction := [digits (" " | "-") ] digits "/" digits              13 1/2   13-1/2   3/8

Signs that look alike on a keyboard or after an autocorrection (″ ” '' for inch, ′ ’ for foot, ½ and the
fraction slash, non-breaking spaces, full-width signs of East Asian input) are made equal first; that
changes no meaning. Everything else is refused, see `refusals`. Two readings are refused although a
program could guess: a comma before exactly three digits (1,234 is a thousand to half of the world), and
a fraction not smaller than one (125/8 is rather 12 5/8 with a lost space than 15 5/8).
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

from inventory.calc.errors import LengthNotUnderstood
from inventory.calc.length import refusals
from inventory.calc.length.units import DENOMINATORS, MAX_NM, Unit, nm_per_unit


@dataclass(frozen=True, slots=True)
class Parsed:
    """A length as typed and as understood; `unit` is the one it was read in, feet count as inches."""

    typed: str
    nm: int
    unit: Unit
    unit_was_typed: bool


class _Figure(NamedTuple):
    """An exact number top/bottom, the unit typed after it, and whether it was written as a fraction."""

    top: int
    bottom: int
    unit: Unit | None
    is_fraction: bool


MAX_TYPED: Final = 40
_WIDE_SPACES: Final = "\u00a0\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u3000"
_SPACES: Final = " \t\r\n" + _WIDE_SPACES

_ALIKE: Final = (
    dict.fromkeys(map(ord, _WIDE_SPACES), " ")
    | dict.fromkeys(map(ord, "\u2044\u2215"), "/")
    | dict.fromkeys(map(ord, "″”“〃"), '"')
    | dict.fromkeys(map(ord, "′’‘"), "'")
    | dict.fromkeys(map(ord, "\u2010\u2011\u2013"), "-")
    | {wide: chr(wide - 0xFEE0) for wide in range(0xFF01, 0xFF5F)}
)
_VULGAR: Final = (
    {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
    # On no tape, but the refusal should name the fraction.
    | {"⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6"}
)
_VULGAR_SIGN: Final = re.compile(f"([0-9]?)([{''.join(_VULGAR)}])")

_UNIT: Final = r'(?P<unit>mm\.?|cm\.?|in\.?|"|inch|inches|millimet(?:er|re)s?|centimet(?:er|re)s?)?'
_DECIMAL: Final = re.compile(rf"(?P<whole>[0-9]*)(?:(?P<point>[.,])(?P<part>[0-9]+))? ?{_UNIT}")
_FRACTION: Final = re.compile(
    rf"(?:(?P<whole>[0-9]+)[ -])?(?P<top>[1-9][0-9]*) ?/ ?(?P<bottom>[1-9][0-9]*) ?{_UNIT}"
)
_FEET: Final = re.compile(r"(?P<feet>[0-9]{1,2}) ?(?:'|ft\.?|feet|foot)(?: ?-? ?(?P<inches>[0-9.,].*))?")

_UNIT_BY_LETTER: Final = {"m": Unit.MM, "c": Unit.CM, "i": Unit.INCH, '"': Unit.INCH}


def parse(typed: str, *, unit: Unit) -> Parsed:
    """The exact length of a typed text; `unit` is the inspection's and holds when none is typed.

    Raises LengthNotUnderstood, naming what was read and what to type instead, for everything that is
    not one clear length from 0 to 10 m in whole nanometres. Repeats are answered from memory.

    >>> parse("13 1/2", unit=Unit.INCH).nm, parse("34,3 cm", unit=Unit.INCH).nm
    (342900000, 343000000)
    """
    return _parse(typed, unit)


def parse_signed(typed: str, *, unit: Unit) -> Parsed:
    """A deviation or one side of a tolerance: as `parse`, with an optional + or − (or -) in front.

    >>> parse_signed("−1/4", unit=Unit.INCH).nm
    -6350000
    """
    text = typed.strip(_SPACES)
    if not text.startswith(("+", "-", "−", "\u2013")):
        return parse(typed, unit=unit)
    try:
        size = parse(text[1:], unit=unit)
    except LengthNotUnderstood as refusal:
        cure = f"{refusal.cure}, with its sign in front"
        raise LengthNotUnderstood(refusals.quoted(text), refusal.read_as, cure) from None
    return Parsed(typed, size.nm if text[0] == "+" else -size.nm, size.unit, size.unit_was_typed)


@lru_cache(maxsize=16_384)
def _parse(typed: str, unit: Unit) -> Parsed:
    text = _plain(typed)
    figure = _figure(text, typed) or _feet(text, typed)
    if figure is None:
        raise refusals.not_a_length(text, typed, unit)
    read_in = figure.unit or unit
    if figure.is_fraction and read_in != Unit.INCH:
        raise refusals.fraction_of_metric(text, typed, read_in, typed_unit=figure.unit)
    nm, rest = divmod(figure.top * nm_per_unit()[read_in], figure.bottom)
    if nm > MAX_NM or (nm == MAX_NM and rest):
        raise refusals.too_long_a_length(typed, read_in)
    if rest:
        raise refusals.too_fine(typed, read_in)
    return Parsed(typed, nm, read_in, figure.unit is not None)


def _plain(typed: str) -> str:
    """The text in lower case with look-alike signs made equal and spaces single."""
    text = typed.strip(_SPACES)
    if len(text) > MAX_TYPED:
        raise refusals.too_long_a_text(typed)
    if not text.isascii():
        # A following digit must not join the fraction: ½4 is not 1/24.
        text = _VULGAR_SIGN.sub(_spelled_out, text.translate(_ALIKE))
    text = text.lower().replace("''", '"').strip(" ")
    while "  " in text:
        text = text.replace("  ", " ")
    return text


def _spelled_out(vulgar: re.Match[str]) -> str:
    space = " " if vulgar[1] else ""
    return f"{vulgar[1]}{space}{_VULGAR[vulgar[2]]} "


def _figure(text: str, typed: str) -> _Figure | None:
    if match := _DECIMAL.fullmatch(text):
        whole, point, part, unit = match.groups()
        if not whole and not part:
            return None
        if point == "," and len(part) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
            raise refusals.comma_or_thousands(typed, whole, part)
        digits = part or ""
        return _Figure(int(whole + digits), 10 ** len(digits), _named(unit), is_fraction=False)
    if match := _FRACTION.fullmatch(text):
        whole, top, bottom, unit = match.groups()
        if int(bottom) not in DENOMINATORS:
            raise refusals.not_on_a_tape(typed, int(bottom))
        if int(top) >= int(bottom):
            raise refusals.fraction_above_one(typed, whole, top, int(bottom))
        return _Figure(int(whole or 0) * int(bottom) + int(top), int(bottom), _named(unit), is_fraction=True)
    return None


def _feet(text: str, typed: str) -> _Figure | None:
    match = _FEET.fullmatch(text)
    if match is None:
        return None
    feet = 12 * int(match["feet"])
    if match["inches"] is None:
        return _Figure(feet, 1, Unit.INCH, is_fraction=False)
    inches = _figure(match["inches"], typed)
    if inches is None:
        return None
    if inches.unit not in (None, Unit.INCH):
        raise refusals.two_units(typed)
    if inches.top >= 12 * inches.bottom or re.match("[0-9]{3}", match["inches"]):
        raise refusals.inches_beyond_a_foot(typed)
    return _Figure(feet * inches.bottom + inches.top, inches.bottom, Unit.INCH, inches.is_fraction)


def _named(unit: str | None) -> Unit | None:
    """Every accepted spelling is told apart by its first sign."""
    return _UNIT_BY_LETTER[unit[0]] if unit else None
