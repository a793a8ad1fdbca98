"""Heaping: a batch whose figures end in 0 and 5, or hit the nominal, more often than chance allows.

Seeing the nominal pulls readings to it; reading in a hurry rounds them. Both leave heaps. How many round
figures chance would give is worked out from the batch itself, as a normal spread around each nominal: a
tight point specified at 330 mm reads 330 honestly more often than one in five. The chance of at least as
many is taken from the binomial distribution with the mean share, which is never smaller than the exact
chance out in that tail (Hoeffding 1956, from memory). A spread below 0.5 mm is taken as 0.5 mm, since
nobody repeats a flat reading closer (common practice, no source).

A few wild figures, a row in inches or a full girth for a half, make the spread of all far too wide and honest
hits of the nominal too unlikely. So for these the spread is also taken from the middle 90 % of the
deviations, and of the two answers the one that allows more hits counts.
"""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist, median
from typing import Final

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import DENOMINATORS, NM_PER_MM, Unit, nm_per_unit
from inventory.calc.slips.kinds import LEAST_SPREAD_NM, Slip, SlipKind

_FEWEST: Final = 20
_TELLING: Final = 0.001
_NOTHING: Final = 1e-18
_LEFT_OUT: Final = 0.05
"""The share of deviations at either end that the spread of the middle does not look at."""


@dataclass(frozen=True, slots=True)
class Heaping:
    """What the figures of a batch show: how many are round, how many exact hits, and how likely that is.

    Shares are of all readings; the chances are those of at least as many, were the batch read honestly.
    """

    readings: int
    round_count: int
    round_expected: float
    round_chance: float
    exact_count: int
    exact_expected: float
    exact_chance: float
    slip: Slip | None


def heaping(
    values_nm: Sequence[int], *, nominals_nm: Sequence[int], unit: Unit, denominator: int = 8
) -> Heaping:
    """Look for heaps in readings taken in one unit, each beside its own nominal (all nm).

    Round is a multiple of 5 mm, or of half an inch; readings are taken to go by whole millimetres, or by
    1/`denominator` inch. A slip is named from 20 readings up when a heap has a chance below 1 in 1000.
    Raises ImpossibleInput if the two lists differ in length or no tape has that denominator.

    >>> marks = [325, 330, 330, 335] * 6
    >>> found = heaping([mm * 10**6 for mm in marks], nominals_nm=[331 * 10**6] * 24, unit=Unit.MM)
    >>> found.round_count, found.exact_count, found.slip is not None
    (24, 0, True)
    """
    if len(values_nm) != len(nominals_nm):
        fault = f"{len(values_nm)} readings beside {len(nominals_nm)} nominals"
        raise ImpossibleInput("batch", fault, "Give one nominal for each reading")
    step_nm, round_nm = _steps(unit, denominator)
    deviations = [value - nominal for value, nominal in zip(values_nm, nominals_nm, strict=True)]
    shift_nm, spread_nm = of_all = _of_all(deviations)
    round_expected = sum(
        count * _share_of_round(nominal_nm + shift_nm, spread_nm, step_nm, round_nm)
        for nominal_nm, count in Counter(nominals_nm).items()
    )
    exact_expected = len(values_nm) * max(
        _between(-step_nm / 2, step_nm / 2, shift, spread)
        for shift, spread in (of_all, _of_the_middle(deviations, step_nm))
    )
    round_count = sum(value % round_nm == 0 for value in values_nm)
    exact_count = deviations.count(0)
    return _found(len(values_nm), (round_count, round_expected), (exact_count, exact_expected), unit)


def heaping_together(parts: Sequence[Heaping], *, unit: Unit) -> Heaping:
    """Heaps of several parts as one, each part keeping the spread that was found in it.

    A waist that varies by 2 mm and a hem that varies by 20 mm, taken as one, look spread by 15 mm, and an
    honest waist then hits its nominal too often. Expected counts add up; the chance is taken as for one.

    >>> part = heaping([330 * 10**6] * 24, nominals_nm=[330 * 10**6] * 24, unit=Unit.MM)
    >>> found = heaping_together([part, part], unit=Unit.MM)
    >>> found.readings, found.exact_count, found.exact_expected == 2 * part.exact_expected
    (48, 48, True)
    """
    return _found(
        sum(part.readings for part in parts),
        (sum(part.round_count for part in parts), math.fsum(part.round_expected for part in parts)),
        (sum(part.exact_count for part in parts), math.fsum(part.exact_expected for part in parts)),
        unit,
    )


def _found(readings: int, rounds: tuple[int, float], exact: tuple[int, float], unit: Unit) -> Heaping:
    """Counts and what chance would give, with how likely at least so many are."""
    round_chance, exact_chance = (_at_least(count, readings, expected) for count, expected in (rounds, exact))
    return Heaping(
        readings=readings,
        round_count=rounds[0],
        round_expected=rounds[1],
        round_chance=round_chance,
        exact_count=exact[0],
        exact_expected=exact[1],
        exact_chance=exact_chance,
        slip=_named(
            readings,
            (round_chance, *rounds, _round_words(unit)),
            (exact_chance, *exact, "are exactly the nominal"),
        ),
    )


def _steps(unit: Unit, denominator: int) -> tuple[int, int]:
    if unit != Unit.INCH:
        return NM_PER_MM, 5 * NM_PER_MM
    if denominator not in DENOMINATORS:
        raise ImpossibleInput("reading step", f"1/{denominator} in", "Give 2, 4, 8, 16, 32 or 64")
    per_inch = nm_per_unit()[Unit.INCH]
    return per_inch // denominator, per_inch // 2


def _of_all(deviations: Sequence[int]) -> tuple[float, float]:
    """Mean and standard deviation (nm)."""
    if not deviations:
        return 0.0, float(LEAST_SPREAD_NM)
    shift = math.fsum(deviations) / len(deviations)
    variance = math.fsum((deviation - shift) ** 2 for deviation in deviations) / max(len(deviations) - 1, 1)
    return shift, max(math.sqrt(variance), LEAST_SPREAD_NM)


def _of_the_middle(deviations: Sequence[int], step_nm: int) -> tuple[float, float]:
    """Median, and the spread (nm) of a normal whose middle 90 % is no wider than theirs may be.

    Each end may be half a step nearer than it reads. The middle half would be narrower still where many
    readings were pulled to the nominal, and hide just that.
    """
    if not deviations:
        return 0.0, float(LEAST_SPREAD_NM)
    ordered, beyond = sorted(deviations), int(len(deviations) * _LEFT_OUT)
    width_nm = ordered[-1 - beyond] - ordered[beyond] - step_nm
    spread_nm = width_nm / (2 * NormalDist().inv_cdf(1 - _LEFT_OUT))
    return float(median(ordered)), max(spread_nm, LEAST_SPREAD_NM)


def _share_of_round(mean_nm: float, spread_nm: float, step_nm: int, round_nm: int) -> float:
    """Chance that a reading, rounded to the step, is a multiple of the round figure."""
    reach = 9 * spread_nm + step_nm
    first, last = math.floor((mean_nm - reach) / round_nm), math.ceil((mean_nm + reach) / round_nm)
    return math.fsum(
        _between(mark * round_nm - step_nm / 2, mark * round_nm + step_nm / 2, mean_nm, spread_nm)
        for mark in range(first, last + 1)
    )


def _between(low_nm: float, high_nm: float, mean_nm: float, spread_nm: float) -> float:
    """Chance of a normal value between two bounds."""
    scale = spread_nm * math.sqrt(2)
    return (math.erf((high_nm - mean_nm) / scale) - math.erf((low_nm - mean_nm) / scale)) / 2


def _at_least(count: int, of: int, expected: float) -> float:
    """Chance of at least this many out of so many, each with the mean share (binomial)."""
    if count == 0:
        return 1.0
    share = expected / of
    if share >= 1.0:
        return 1.0
    if share <= 0.0:
        return 0.0
    if count > expected:
        return min(_falling(count, of, share, step=1), 1.0)
    return max(1.0 - _falling(count - 1, of, share, step=-1), 0.0)


def _falling(start: int, of: int, share: float, *, step: int) -> float:
    """Sum of the binomial chances from one count on, away from the mean, till they no longer add anything."""
    odds = share / (1.0 - share)
    log_first = (
        math.lgamma(of + 1)
        - math.lgamma(start + 1)
        - math.lgamma(of - start + 1)
        + start * math.log(share)
        + (of - start) * math.log1p(-share)
    )
    count, term, total = start, math.exp(log_first), 0.0
    while 0 <= count <= of and term > total * _NOTHING:
        total += term
        # Each chance from the one before: a sum over every count took half the time of a large import.
        term *= odds * (of - count) / (count + 1) if step > 0 else count / (odds * (of - count + 1))
        count += step
    return total


def _round_words(unit: Unit) -> str:
    return "are whole or half inches" if unit == Unit.INCH else "end in 0 or 5 mm"


def _named(readings: int, *heaps: tuple[float, int, float, str]) -> Slip | None:
    """The less likely heap in words, if there are enough readings and it is unlikely enough."""
    chance, count, expected, words = min(heaps)
    if readings < _FEWEST or chance >= _TELLING:
        return None
    return Slip(
        SlipKind.HEAPING,
        None,
        f"{count} of {readings} readings {words}; about {expected:.0f} would by chance. "
        "Are figures rounded, or is the nominal seen before reading?",
    )
