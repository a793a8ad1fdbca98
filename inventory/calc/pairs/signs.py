"""Which of two reads longer, counted only: needs no bell curve, and no figure but the sign."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from inventory.calc.pairs.comparing import differences_nm


@dataclass(frozen=True, slots=True)
class SignTest:
    """How many first figures lie above, below and on the second, and the exact two-sided p of that split.

    Pairs with no difference say nothing and are left out of the p, as usual.
    """

    above: int
    below: int
    same: int
    p: float


def sign_test(first_nm: Sequence[int], second_nm: Sequence[int]) -> SignTest:
    """The sign test: a fair coin would split as unevenly with chance p (Arbuthnot 1710; Fisher).

    >>> sign_test([2, 3, 4, 5, 6, 7], [1, 1, 1, 1, 1, 1])
    SignTest(above=6, below=0, same=0, p=0.03125)
    """
    differences = differences_nm(first_nm, second_nm)
    above = sum(d > 0 for d in differences)
    below = sum(d < 0 for d in differences)
    split = above + below
    tail = sum(math.comb(split, heads) for heads in range(min(above, below) + 1))
    # Whole numbers until the last step: exact for any number of pairs.
    return SignTest(above, below, len(differences) - split, min(1.0, 2 * tail / 2**split))
