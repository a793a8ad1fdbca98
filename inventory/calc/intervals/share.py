"""Which share of all pieces is out, when x of n were: intervals for a proportion.

*Clopper-Pearson* is never wrong more often than stated, and so wider than need be: for claims. *Wilson* and
*Jeffreys* are right on average, and narrower: for looking. All without the batch having an end; for what is
left of a real batch take the limits of the sampling package. Newcombe, Statistics in Medicine 17:857
(1998); NIST e-Handbook 7.2.4.1 (formulas from memory).
"""

import math

from scipy.special import betaincinv, ndtri

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals.normal import Interval, checked_share


def clopper_pearson(found: int, of: int, *, confidence: float = 0.95) -> Interval:
    """The exact interval, equal tails: at least ``confidence`` whatever the share is.

    >>> clopper_pearson(0, 10).low, round(clopper_pearson(0, 10).high, 4)
    (0.0, 0.3085)
    """
    tail = _tail(found, of, confidence)
    low = 0.0 if found == 0 else float(betaincinv(found, of - found + 1, tail))
    return Interval(low, _highest(found, of, tail))


def upper_share(found: int, of: int, *, confidence: float = 0.95) -> float:
    """The share that all may have at most, all the doubt on one side.

    For none found it is 1 − (1 − confidence)^(1/n): about 3/n, the rule of three.

    >>> round(upper_share(0, 300), 4)
    0.0099
    """
    return _highest(found, of, 2 * _tail(found, of, confidence))


def jeffreys(found: int, of: int, *, confidence: float = 0.95) -> Interval:
    """The interval of Jeffreys: equal tails of Beta(x + ½, n − x + ½), open to 0 and 1 at the ends."""
    tail = _tail(found, of, confidence)
    low, high = (float(betaincinv(found + 0.5, of - found + 0.5, p)) for p in (tail, 1 - tail))
    return Interval(0.0 if found == 0 else low, 1.0 if found == of else high)


def wilson(found: int, of: int, *, confidence: float = 0.95) -> Interval:
    """The score interval of Wilson, without correction for continuity.

    >>> round(wilson(1, 29).low, 4), round(wilson(1, 29).high, 4)
    (0.0061, 0.1718)
    """
    z = -float(ndtri(_tail(found, of, confidence)))
    centre = found + z * z / 2
    # One square root of exact parts: at x = 0 and x = n the ends come out as 0 and 1 to the last digit.
    half = z * math.sqrt(found * (of - found) / of + z * z / 4)
    whole = of + z * z
    low = 0.0 if found == 0 else (centre - half) / whole
    return Interval(low, 1.0 if found == of else (centre + half) / whole)


def _highest(found: int, of: int, tail: float) -> float:
    return 1.0 if found == of else float(betaincinv(found + 1, of - found, 1 - tail))


def _tail(found: int, of: int, confidence: float) -> float:
    if of < 1:
        raise ImpossibleInput("number looked at", of, "Look at least at one")
    if not 0 <= found <= of:
        raise ImpossibleInput("number found", f"{found} of {of}", f"Give a number from 0 to {of}")
    return (1 - checked_share("confidence", confidence)) / 2
