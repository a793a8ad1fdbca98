"""The first whole number from which on something holds, found by halving."""

from collections.abc import Callable


def first_that(holds: Callable[[int], bool], *, at_least: int, below: int) -> int:
    """The first number from ``at_least`` up for which ``holds`` is true and stays so; else ``below``.

    >>> first_that(lambda number: number * number >= 50, at_least=0, below=100)
    8
    """
    low, high = at_least, below
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low


def first_near(holds: Callable[[int], bool], *, at_least: int, below: int) -> int:
    """The same, looking at small numbers first: for conditions that are slow to try on large ones.

    >>> first_near(lambda number: number * number >= 50, at_least=1, below=1_000_000)
    8
    """
    low, high = at_least, max(at_least, 1)
    while high < below and not holds(high):
        low, high = high + 1, 2 * high
    return first_that(holds, at_least=low, below=min(high, below))
