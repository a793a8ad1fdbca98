"""How far a reading, a mean of repeats, a sum of halves or a difference of halves may be off.

Two things make a tape reading scatter. The *repeat* part is new each time the tape is laid: it shrinks
with the number of readings. The *person* part is a habit, how level and how taut one holds the tape: it
stays in every reading that person takes, so ten repeats by one pair of hands do not average it away, and
it falls out of a difference of two halves read by the same hands.

All results are standard uncertainties (one standard deviation) in nanometres, as floats; lengths stay
whole nanometres. Sums are roots of sums of squares (GUM, JCGM 100:2008, 5.1.2 and 5.2; from memory).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, show_exact


@dataclass(frozen=True, slots=True)
class ReadingError:
    """The two standard deviations of one reading: of its repeats, and between persons (nm, not negative)."""

    repeat_sd_nm: int
    person_sd_nm: int

    def __post_init__(self) -> None:
        for thing, sd_nm in (("repeat SD", self.repeat_sd_nm), ("person SD", self.person_sd_nm)):
            if sd_nm < 0:
                raise ImpossibleInput(
                    thing, f"{show_exact(sd_nm, unit=Unit.MM)}, below zero", "Give zero or more"
                )

    @classmethod
    def from_planning(cls, same_person_sd_nm: int, two_people_sd_nm: int) -> Self:
        """Split the planning values "same person SD" and "two people SD" into repeat and person parts.

        The SD between two people holds both parts, so the person part is √(two people² − same person²),
        rounded up to whole nanometres. Raises ImpossibleInput when two people would agree better with
        each other than one person with herself.

        >>> ReadingError.from_planning(3_000_000, 5_000_000)
        ReadingError(repeat_sd_nm=3000000, person_sd_nm=4000000)
        """
        if two_people_sd_nm < same_person_sd_nm:
            raise ImpossibleInput(
                "two people SD",
                f"{show_exact(two_people_sd_nm, unit=Unit.MM)}, "
                f"below the same person SD {show_exact(same_person_sd_nm, unit=Unit.MM)}",
                "Two people cannot agree better than one person with herself; give at least the same SD",
            )
        square = two_people_sd_nm**2 - same_person_sd_nm**2
        root = math.isqrt(square)
        return cls(repeat_sd_nm=same_person_sd_nm, person_sd_nm=root if root * root == square else root + 1)


def mean_nm(values_nm: Sequence[int]) -> int:
    """Mean of repeated readings in whole nanometres, exact halves to the even one; refuses an empty list.

    >>> mean_nm([330_000_000, 331_000_000, 331_000_000])
    330666667
    """
    if not values_nm:
        raise ImpossibleInput("number of readings", 0, "Take at least one reading")
    whole, rest = divmod(sum(values_nm), len(values_nm))
    if rest * 2 > len(values_nm) or (rest * 2 == len(values_nm) and whole % 2):
        whole += 1
    return whole


def of_mean(error: ReadingError, *, readings: int, people: int = 1) -> float:
    """Standard uncertainty (nm) of the mean of ``readings`` readings taken by ``people`` persons.

    u² = s_r²/n + s_p²/p: repeats shrink the repeat part only (GUM 4.2.3; from memory).

    >>> of_mean(ReadingError(2_000_000, 0), readings=4)
    1000000.0
    >>> of_mean(ReadingError(0, 2_000_000), readings=4)
    2000000.0
    """
    _check_counts(readings, people=people)
    return math.sqrt(error.repeat_sd_nm**2 / readings + error.person_sd_nm**2 / people)


def of_full_from_halves(
    error: ReadingError, *, left_readings: int, right_readings: int, people: int = 1
) -> float:
    """Standard uncertainty (nm) of left half + right half, both read.

    u² = s_r²(1/n_L + 1/n_R) + (2·s_p)²/p: the repeat parts are independent, the habit is in both halves.

    >>> round(of_full_from_halves(ReadingError(1_000_000, 0), left_readings=1, right_readings=1))
    1414214
    """
    _check_counts(left_readings, right_readings, people=people)
    repeat = error.repeat_sd_nm**2 * (left_readings + right_readings) / (left_readings * right_readings)
    return math.sqrt(repeat + 4 * error.person_sd_nm**2 / people)


def of_full_from_one_half(error: ReadingError, *, readings: int, people: int = 1, pair_sd_nm: float) -> float:
    """Standard uncertainty (nm) of a full girth taken as twice one half.

    u² = 4(s_r²/n + s_p²/p) + s_pair², with ``pair_sd_nm`` the spread of the true left-right difference,
    which nobody has looked at. Never smaller than with both halves read.

    >>> round(of_full_from_one_half(ReadingError(1_000_000, 0), readings=1, pair_sd_nm=0.0))
    2000000
    """
    if not 0 <= pair_sd_nm < math.inf:
        raise ImpossibleInput("left-right SD", f"{pair_sd_nm} nm", "Give zero or more")
    return math.hypot(2 * of_mean(error, readings=readings, people=people), pair_sd_nm)


def of_difference(error: ReadingError, *, left_readings: int, right_readings: int) -> float:
    """Standard uncertainty (nm) of left − right, read by the same hands: the habit cancels.

    >>> round(of_difference(ReadingError(1_000_000, 5_000_000), left_readings=1, right_readings=1))
    1414214
    """
    _check_counts(left_readings, right_readings)
    return math.sqrt(
        error.repeat_sd_nm**2 * (left_readings + right_readings) / (left_readings * right_readings)
    )


def expanded(u_nm: float, k: float) -> float:
    """Expanded uncertainty U = k·u (nm); k = 2 covers about 95 % of a bell curve.

    >>> expanded(1_500_000.0, 2)
    3000000.0
    """
    if k < 0 or u_nm < 0:
        raise ImpossibleInput("coverage factor or uncertainty", f"{k} and {u_nm} nm", "Give zero or more")
    return k * u_nm


def pair_sd_from_limit(limit_nm: int) -> float:
    """Standard uncertainty (nm) of a difference only known to lie within ±``limit_nm``: limit/√3.

    Rectangular distribution, GUM (JCGM 100:2008) 4.3.7; from memory.

    >>> round(pair_sd_from_limit(6_000_000))
    3464102
    """
    if limit_nm < 0:
        raise ImpossibleInput(
            "left-right limit", f"{show_exact(limit_nm, unit=Unit.MM)}, below zero", "Give zero or more"
        )
    return limit_nm / math.sqrt(3)


def _check_counts(*readings: int, people: int = 1) -> None:
    for count in readings:
        if count < 1:
            raise ImpossibleInput("number of readings", count, "Take at least one reading")
    if people < 1 or people > max(readings):
        raise ImpossibleInput(
            "number of people",
            f"{people} for {max(readings)} readings",
            "Give at least one person, and no more than there are readings",
        )
