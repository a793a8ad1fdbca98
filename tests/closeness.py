"""What "close enough" means in these tests, named once.

Lengths are whole numbers and compare exactly; a tolerance is only for figures someone printed with a
limited number of digits, and for formulas evaluated twice in floating point by different roads.
"""

from decimal import Decimal
from fractions import Fraction

FLOAT_NOISE = 1e-12
"""Relative difference that two correct floating-point routes may show."""

ONE_NM = 1
"""A length that had to be rounded to whole nanometres once."""


def exact(value: object, expected: object) -> bool:
    """Equal in value and in type: an int stays an int, a Decimal a Decimal."""
    return type(value) is type(expected) and value == expected


def to_printed_digits(value: float | int | Fraction | Decimal, printed: str) -> bool:
    """Whether a value rounds to the printed figure: within half of its last digit.

    >>> to_printed_digits(0.333333, "0.33"), to_printed_digits(0.336, "0.33")
    (True, False)
    """
    figure = Decimal(printed)
    exponent = figure.as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"{printed!r} is not a printed figure")
    half_a_digit = Fraction(10) ** exponent / 2
    return abs(Fraction(value) - Fraction(figure)) <= half_a_digit


def same_float(value: float, expected: float) -> bool:
    """Equal up to the noise of floating point."""
    return abs(value - expected) <= FLOAT_NOISE * max(abs(value), abs(expected))


def within_one_nm(value_nm: int, expected_nm: float) -> bool:
    """A length rounded to whole nanometres against the same length before rounding."""
    return abs(value_nm - expected_nm) <= ONE_NM
