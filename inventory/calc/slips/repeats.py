"""Whether a repeat contradicts what was read of the same side before.

Two honest readings differ by chance, and by habit when two people took them. The difference of one reading
and the mean of n others has the variance s_r²(1 + 1/n), plus 2 s_p² between two people; beyond 2.576 of its
standard deviations lies 1 in 100. The idea is the critical range of ISO 5725-6 (from memory), which takes
1 in 20; here a person is interrupted, so it is 1 in 100.
"""

from collections.abc import Sequence
from math import sqrt
from typing import Final

from inventory.calc.slips.kinds import LEAST_SPREAD_NM
from inventory.calc.uncertainty import ReadingError, mean_nm

_ONE_IN_A_HUNDRED: Final = 2.576


def most_apart_nm(error: ReadingError, *, earlier: int, another_person: bool) -> float:
    """How far (nm) an honest reading lies from the mean of so many earlier ones, but for 1 in 100.

    A repeat SD below half a millimetre counts as that: nobody reads a tape closer.

    >>> error = ReadingError(1_500_000, 2_000_000)
    >>> round(most_apart_nm(error, earlier=1, another_person=False))
    5464521
    >>> round(most_apart_nm(error, earlier=1, another_person=True))
    9107535
    """
    repeat_nm = max(error.repeat_sd_nm, LEAST_SPREAD_NM)
    of_people = 2 * error.person_sd_nm**2 if another_person else 0
    return _ONE_IN_A_HUNDRED * sqrt(repeat_nm**2 * (1 + 1 / earlier) + of_people)


def disagrees(nm: int, earlier_nm: Sequence[int], error: ReadingError, *, another_person: bool) -> bool:
    """Whether a reading (nm) lies further from the mean of the earlier ones than honest readings do.

    Where the earlier ones disagree themselves, which was asked about when it came, a reading that agrees with
    one of them tells which was right and is not asked about. False when there is no earlier one.

    >>> waist = ReadingError(1_500_000, 0)
    >>> disagrees(336_550_000, [322_262_500], waist, another_person=False)
    True
    >>> disagrees(336_550_000, [322_262_500, 336_550_000], waist, another_person=False)
    False
    """
    if not earlier_nm:
        return False
    of_mean = most_apart_nm(error, earlier=len(earlier_nm), another_person=another_person)
    if abs(nm - mean_nm(earlier_nm)) <= of_mean:
        return False
    of_one = most_apart_nm(error, earlier=1, another_person=another_person)
    is_settled = max(earlier_nm) - min(earlier_nm) <= of_one
    return is_settled or all(abs(nm - one) > of_one for one in earlier_nm)
