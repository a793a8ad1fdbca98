"""Typed text to exact length and back.

A length is a whole number of nanometres. That holds every mark of a tape exactly: 0.1 mm is 100 000,
1/64 inch is 396 875, so a reading that lies on a limit is equal to it in any unit, and nothing is ever
compared through a rounded figure.

People type `13 1/2`, `13½"`, `34,3 cm`, `1' 2 1/4"`. The grammar here is our own and strict: what can be
understood in two ways is refused with a sentence saying how it was read and what to type instead. The
unit library supplies the factors only; its own text parser reads `13 1/2 in` as another length.

    units     the units, their factors, exact millimetres, rounding
    grammar   text -> Parsed
    refusals  why a text was refused, and the cure
    showing   length -> text
"""

from inventory.calc.length.grammar import Parsed, parse, parse_signed
from inventory.calc.length.showing import (
    Display,
    propose,
    show,
    show_exact,
    show_uncertainty,
    show_within,
    shows_exactly,
)
from inventory.calc.length.units import (
    DENOMINATORS,
    MAX_NM,
    NM_PER_MM,
    Rounding,
    Unit,
    from_mm,
    nm_per_unit,
    round_to,
    to_mm,
)

__all__ = [
    "DENOMINATORS",
    "MAX_NM",
    "NM_PER_MM",
    "Display",
    "Parsed",
    "Rounding",
    "Unit",
    "from_mm",
    "nm_per_unit",
    "parse",
    "parse_signed",
    "propose",
    "round_to",
    "show",
    "show_exact",
    "show_uncertainty",
    "show_within",
    "shows_exactly",
    "to_mm",
]
