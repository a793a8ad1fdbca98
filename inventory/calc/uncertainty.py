"""How far a reading, a mean of repeats, a sum of halves or a difference of halves may be off.

Three things make a tape reading wrong. The *repeat* part is new each time the tape is laid: it shrinks
with the number of readings. The *person* part is a habit, how level and how taut one holds the tape: it
stays in every reading that person takes, so ten repeats by one pair of hands do not average it away, and
it falls out of a difference of two halves read by the same hands, but for the *placing*: how a person lays
just this half of just this piece, which is new with each side. The *fixed* part is in every reading of
everybody alike (the tape itself, the level all were told, the state of the cloth): nothing averages it
away, and it too falls out of a difference.

All results are standard uncertainties (one standard deviation) in nanometres, as floats; lengths stay
whole nanometres. Sums are roots of sums of squares (GUM, JCGM 100:2008, 5.1.2 and 5.2; from memory). A
standard deviation from a study is itself only known so well: its degrees of freedom go along, and come
together by Welch and Satterthwaite (GUM G.4.1; from memory).
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Self

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, show_exact


@dataclass(frozen=True, slots=True)
class ReadingError:
    """The standard deviations of one reading: of its repeats, between persons, and fixed (nm, not negative).

    The degrees of freedom say how well the first two are known; None: a planning value, taken as known.
    """

    repeat_sd_nm: int
    person_sd_nm: int
    fixed_sd_nm: int = 0
    repeat_dof: int | None = None
    person_dof: int | None = None
    placing_sd_nm: int = 0
    """Of the person SD, what is new with each side of each piece (piece × person in a study)."""

    def __post_init__(self) -> None:
        for thing, sd_nm in (
            ("repeat SD", self.repeat_sd_nm),
            ("person SD", self.person_sd_nm),
            ("fixed SD", self.fixed_sd_nm),
            ("placing SD", self.placing_sd_nm),
        ):
            if sd_nm < 0:
                raise ImpossibleInput(
                    thing, f"{show_exact(sd_nm, unit=Unit.MM)}, below zero", "Give zero or more"
                )
        if self.placing_sd_nm > self.person_sd_nm:
            raise ImpossibleInput(
                "placing SD",
                f"{show_exact(self.placing_sd_nm, unit=Unit.MM)}, above the person SD it is part of",
                "Give at most the person SD",
            )
        for dof in (self.repeat_dof, self.person_dof):
            if dof is not None and dof < 1:
                raise ImpossibleInput(
                    "degrees of freedom", dof, "Give 1 or more, or none if it is known well"
                )

    @classmethod
    def from_planning(cls, same_person_sd_nm: int, two_people_sd_nm: int) -> Self:
        """Split the planning values "same person SD" and "two people SD" into repeat and person parts.

        The SD between two people holds both parts, so the person part is √(two people² − same person²),
        rounded up to whole nanometres. Raises ImpossibleInput when two people would agree better with
        each other than one person with herself.

        >>> ReadingError.from_planning(3_000_000, 5_000_000) == ReadingError(3_000_000, 4_000_000)
        True
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


@dataclass(frozen=True, slots=True)
class Combined:
    """A standard uncertainty (nm) and its effective degrees of freedom; None: known well."""

    u_nm: float
    dof: int | None


def welch_satterthwaite(parts: Iterable[tuple[float, float | None]]) -> float | None:
    """Effective degrees of freedom u⁴ / Σ(uᵢ⁴/νᵢ), not rounded; None: endless.

    ``parts`` are pairs of a standard uncertainty (any one unit) and its degrees of freedom, None for one that
    is known well. GUM (JCGM 100:2008) G.4.1 (from memory).

    >>> welch_satterthwaite([(3.0, 10), (4.0, None)])
    77.1604938271605
    """
    parts = list(parts)
    largest = max((abs(u) for u, _ in parts), default=0.0)
    doubt = sum((u / largest) ** 4 / dof for u, dof in parts if dof is not None) if largest else 0.0
    return sum((u / largest) ** 2 for u, _ in parts) ** 2 / doubt if doubt else None


def effective_dof(parts: Iterable[tuple[float, float | None]]) -> int | None:
    """Welch-Satterthwaite, cut down to a whole number, never below 1; None: endless.

    GUM (JCGM 100:2008) G.4.2 (from memory).

    >>> effective_dof([(1.0, 9), (1.0, 9)]), effective_dof([(1.0, 9), (0.0, None)])
    (18, 9)
    """
    nu = welch_satterthwaite(parts)
    # 18 computed as 17.999999999999996 is 18; past a billion the difference to endless is nothing.
    return None if nu is None or nu > 1e9 else max(1, math.floor(nu * (1 + 1e-12)))


@dataclass(frozen=True, slots=True)
class Hands:
    """Whose hands read the two halves, as far as it matters to a sum or a difference.

    With a and b the shares of the left and the right readings each person took: ``left`` = Σa²,
    ``right`` = Σb², ``both`` = Σab. One person for both is 1, 1, 1; one person each 1, 1, 0.
    """

    left: float = 1.0
    right: float = 1.0
    both: float = 1.0

    def habit(self, *, sign: int) -> float:
        """By how much of its square the habit counts in left + right (``sign`` 1) or left − right (−1)."""
        return max(0.0, self.left + self.right + 2 * sign * self.both)


def even(people: int) -> Hands:
    """The same people on both halves, each with the same share."""
    return Hands(1 / people, 1 / people, 1 / people)


def mean(error: ReadingError, *, readings: int, people: int = 1, alone: float | None = None) -> Combined:
    """Of the mean of ``readings`` readings taken by ``people`` persons: u² = s_r²/n + s_p²/p + s_f².

    Repeats shrink the repeat part only (GUM 4.2.3; from memory). ``alone``: the sum of the squared shares of
    the readings each person took, in place of 1/p, where they did not take equally many.
    """
    check_counts(readings, people=people)
    share = 1 / people if alone is None else alone
    return _combined(error, repeat=1 / readings, habit=share, placing=share, fixed=1.0)


def of_mean(error: ReadingError, *, readings: int, people: int = 1) -> float:
    """Standard uncertainty (nm) of the mean of ``readings`` readings taken by ``people`` persons.

    >>> of_mean(ReadingError(2_000_000, 0), readings=4)
    1000000.0
    >>> of_mean(ReadingError(0, 2_000_000), readings=4)
    2000000.0
    """
    return mean(error, readings=readings, people=people).u_nm


def full_from_halves(
    error: ReadingError,
    *,
    left_readings: int,
    right_readings: int,
    people: int = 1,
    hands: Hands | None = None,
) -> Combined:
    """Of left half + right half, both read: u² = s_r²(1/n_L + 1/n_R) + (2·s_p)²/p + (2·s_f)².

    The repeat parts are independent, and so is the placing; the habit and the fixed part are in both halves.
    ``hands``: who read which half; without it the same people read both.
    """
    check_counts(left_readings, right_readings, people=people)
    hands = hands or even(people)
    return _combined(
        error,
        repeat=1 / left_readings + 1 / right_readings,
        habit=hands.habit(sign=1),
        placing=hands.left + hands.right,
        fixed=4.0,
    )


def of_full_from_halves(
    error: ReadingError, *, left_readings: int, right_readings: int, people: int = 1
) -> float:
    """Standard uncertainty (nm) of left half + right half, both read.

    >>> round(of_full_from_halves(ReadingError(1_000_000, 0), left_readings=1, right_readings=1))
    1414214
    """
    return full_from_halves(
        error, left_readings=left_readings, right_readings=right_readings, people=people
    ).u_nm


def full_from_one_half(
    error: ReadingError,
    *,
    readings: int,
    people: int = 1,
    alone: float | None = None,
    pair_sd_nm: float,
) -> Combined:
    """Of a full girth taken as twice one half: u² = 4(s_r²/n + s_p²/p + s_f²) + s_pair².

    ``pair_sd_nm`` is the spread of the true left-right difference, which nobody has looked at. Never smaller
    than with both halves read.
    """
    if not 0 <= pair_sd_nm < math.inf:
        raise ImpossibleInput("left-right SD", f"{pair_sd_nm} nm", "Give zero or more")
    check_counts(readings, people=people)
    share = 4 * (1 / people if alone is None else alone)
    return _combined(error, repeat=4 / readings, habit=share, placing=share, fixed=4.0, pair_sd_nm=pair_sd_nm)


def of_full_from_one_half(error: ReadingError, *, readings: int, people: int = 1, pair_sd_nm: float) -> float:
    """Standard uncertainty (nm) of a full girth taken as twice one half.

    >>> round(of_full_from_one_half(ReadingError(1_000_000, 0), readings=1, pair_sd_nm=0.0))
    2000000
    """
    return full_from_one_half(error, readings=readings, people=people, pair_sd_nm=pair_sd_nm).u_nm


def difference(
    error: ReadingError, *, left_readings: int, right_readings: int, hands: Hands | None = None
) -> Combined:
    """Of left − right: of what the same hands read with the same tape, habit and fixed part cancel.

    ``hands``: who read which half; without it one person read both. The placing never cancels.
    """
    check_counts(left_readings, right_readings)
    hands = hands or Hands()
    return _combined(
        error,
        repeat=1 / left_readings + 1 / right_readings,
        habit=hands.habit(sign=-1),
        placing=hands.left + hands.right,
        fixed=0.0,
    )


def of_difference(error: ReadingError, *, left_readings: int, right_readings: int) -> float:
    """Standard uncertainty (nm) of left − right, read by the same hands.

    >>> round(of_difference(ReadingError(1_000_000, 5_000_000), left_readings=1, right_readings=1))
    1414214
    """
    return difference(error, left_readings=left_readings, right_readings=right_readings).u_nm


def _combined(
    error: ReadingError,
    *,
    repeat: float,
    habit: float,
    placing: float,
    fixed: float,
    pair_sd_nm: float = 0.0,
) -> Combined:
    """Add the parts, each times its own share of the square."""
    placed = error.placing_sd_nm**2
    person = (error.person_sd_nm**2 - placed) * habit + placed * placing
    square = error.repeat_sd_nm**2 * repeat + person + error.fixed_sd_nm**2 * fixed
    parts = (
        (error.repeat_sd_nm * math.sqrt(repeat), error.repeat_dof),
        (math.sqrt(person), error.person_dof),
        (error.fixed_sd_nm * math.sqrt(fixed), None),
        (pair_sd_nm, None),
    )
    return Combined(math.hypot(math.sqrt(square), pair_sd_nm), effective_dof(parts))


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


def check_counts(*readings: int, people: int = 1) -> None:
    """Refuse fewer than one reading or person, and more people than readings."""
    for count in readings:
        if count < 1:
            raise ImpossibleInput("number of readings", count, "Take at least one reading")
    if people < 1 or people > max(readings):
        raise ImpossibleInput(
            "number of people",
            f"{people} for {max(readings)} readings",
            "Give at least one person, and no more than there are readings",
        )
