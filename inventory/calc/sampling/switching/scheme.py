"""What normal and tightened inspection together do to a maker whose quality stays the same.

Switching makes the pair stricter than the normal plan alone: a poor maker is soon on tightened inspection.
Reduced inspection and the stop are left out, as in the source.

Source: Stephens & Larson, Industrial Quality Control 1967, by way of a public vignette.
"""

from fractions import Fraction
from typing import TypeVar

from inventory.calc.errors import ImpossibleInput

Chance = TypeVar("Chance", float, Fraction)


def scheme_passing(normal: Chance, tightened: Chance) -> Chance:
    """Share of batches accepted in the long run, from the chances to pass on normal and on tightened.

    Float or Fraction in, the same out. Raises ImpossibleInput for a chance not from 0 to 1.

    >>> round(scheme_passing(0.9, 0.8), 4), round(scheme_passing(0.5, 0.3), 4)
    (0.8792, 0.3014)
    """
    for thing, chance in (("chance to pass normal", normal), ("chance to pass tightened", tightened)):
        if not 0 <= chance <= 1:
            raise ImpossibleInput(thing, chance, "Give a chance from 0 to 1")
    if normal == 1 or tightened == 0:
        return normal if normal == 1 else tightened
    on_normal, on_tightened = run_on_normal(normal), run_on_tightened(tightened)
    return (on_normal * normal + on_tightened * tightened) / (on_normal + on_tightened)


def run_on_normal(passing: Chance) -> Chance:
    """Batches on normal inspection, on average, until two of five or fewer were refused (passing < 1).

    >>> run_on_normal(Fraction(0))
    Fraction(2, 1)
    """
    return (2 - passing**4) / ((1 - passing) * (1 - passing**4))


def run_on_tightened(passing: Chance) -> Chance:
    """Batches on tightened inspection, on average, until five in a row were accepted (passing > 0).

    >>> run_on_tightened(Fraction(1)), run_on_tightened(Fraction(1, 2))
    (Fraction(5, 1), Fraction(62, 1))
    """
    if passing == 1:
        return 5 * passing
    return (1 - passing**5) / ((1 - passing) * passing**5)
