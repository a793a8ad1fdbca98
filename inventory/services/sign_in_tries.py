"""How often a sign-in was tried in vain, by name and by address, and how long the next try has to wait.

A name may be tried wrongly a few times, an address somewhat oftener, as several people may share one; from
then on each further failure doubles the wait, up to a minute: enough to make guessing hopeless, and short
enough that nobody can shut somebody else out. The counts lie in the cache that all processes share, and are
forgotten a quarter of an hour after the last try. (Figures: our own choice, no source.)
"""

from __future__ import annotations

import hashlib
import math
from typing import TYPE_CHECKING, Final

from django.core.cache import cache

if TYPE_CHECKING:
    import datetime as dt

FREE_BY_NAME: Final = 5
FREE_BY_ADDRESS: Final = 20
FIRST_WAIT_S: Final = 5
LONGEST_WAIT_S: Final = 60
REMEMBERED_S: Final = 15 * 60
NOT_RIGHT: Final = "Name or password is not right. Check both; capitals count."


def seconds_to_wait(*, name: str, address: str, now: dt.datetime) -> int:
    """How many seconds this name or this address still has to wait; 0: it may try."""
    until = max(_kept(key)[1] for key, _ in _keys(name, address))
    return max(0, math.ceil(until - now.timestamp()))


def note_try(*, name: str, address: str, now: dt.datetime) -> None:
    """Count a try. It is said before the password is looked at, so that tries side by side all count."""
    for key, free in _keys(name, address):
        count = _kept(key)[0] + 1
        cache.set(key, (count, now.timestamp() + wait_after(count, free=free)), REMEMBERED_S)


def forgive(*, name: str, address: str) -> None:
    """The try was a good one: forget the name's failures, and this one try of the address.

    Not the address's others: whoever has one sign-in could guess at all the rest in between.
    """
    of_name, of_address = (key for key, _ in _keys(name, address))
    cache.delete(of_name)
    count, _ = _kept(of_address)
    if count:
        cache.set(of_address, (count - 1, 0.0), REMEMBERED_S)


def wait_after(failures: int, *, free: int) -> int:
    """Seconds to wait after so many failures, of which some are free.

    >>> [wait_after(failures, free=5) for failures in (1, 4, 5, 6, 7, 8, 9, 1000)]
    [0, 0, 5, 10, 20, 40, 60, 60]
    """
    if failures < free:
        return 0
    return min(LONGEST_WAIT_S, FIRST_WAIT_S << min(failures - free, 10))


def _keys(name: str, address: str) -> tuple[tuple[str, int], tuple[str, int]]:
    return (_key("name", name.casefold()), FREE_BY_NAME), (_key("address", address), FREE_BY_ADDRESS)


def _key(what: str, whose: str) -> str:
    """A key of a known length, and with nothing in it that a cache may not hold."""
    return f"sign-in-tries-{what}-{hashlib.sha256(whose.encode()).hexdigest()}"


def _kept(key: str) -> tuple[int, float]:
    count, until = cache.get(key, (0, 0.0))
    return int(count), float(until)
