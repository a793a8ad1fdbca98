"""The order of the sizes: where each stands in the run, and whether they were typed backwards.

Labels that are all numbers, or all of S, M, L and their relatives, have an order of their own; others are
taken in the order of the sheet.
"""

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final

_NUMBER: Final = re.compile(r"(?:size\s*)?(?P<figure>[0-9]{1,3}(?:[.,][0-9]{1,2})?)", re.IGNORECASE)
_LETTERS: Final = re.compile(r"(?:(?P<times>[0-9])x|(?P<xs>x*))(?P<side>[sl])|(?P<middle>m)", re.IGNORECASE)


def order_of(label: str) -> float | None:
    """Where a size label stands among its like, or None.

    >>> order_of("24"), order_of("XS"), order_of("m"), order_of("2XL"), order_of("petite")
    (24.0, -2.0, 0.0, 3.0, None)
    """
    text = label.strip()
    if number := _NUMBER.fullmatch(text):
        return float(number["figure"].replace(",", "."))
    if letters := _LETTERS.fullmatch(text):
        if letters["middle"]:
            return 0.0
        size = 1.0 + (int(letters["times"]) if letters["times"] else len(letters["xs"]))
        return size if letters["side"].lower() == "l" else -size
    return None


def places_of(labels: Sequence[str]) -> Mapping[str, float]:
    """Where each size stands in the run, from 0: by its label where all labels have an order, else as typed.

    Numbers with gaps keep them: 24, 26, 30 stand at 0, 1 and 3.

    >>> dict(places_of(["26", "24", "30"])), dict(places_of(["small", "tall"]))
    ({'26': 1.0, '24': 0.0, '30': 3.0}, {'small': 0.0, 'tall': 1.0})
    """
    orders = _orders(labels)
    if orders is None:
        return {label: float(place) for place, label in enumerate(labels)}
    in_order = sorted(orders)
    gaps = [after - before for before, after in pairwise(in_order)]
    usual = min(gaps, default=1.0)
    return {label: (order - in_order[0]) / usual for label, order in zip(labels, orders, strict=True)}


def question_of_order(labels: Sequence[str]) -> tuple[str, str]:
    """The size where the run first goes back, and the question; both empty when it does not.

    >>> question_of_order(["28", "26", "24"])[1]
    'The sizes run backwards: 28, 26, 24. Smallest first is usual, and steps count upwards. Is it meant so?'
    >>> question_of_order(["24", "26", "28"])
    ('', '')
    """
    orders = _orders(labels)
    if orders is None:
        return "", ""
    falls = [place + 1 for place, (before, after) in enumerate(pairwise(orders)) if after < before]
    if not falls:
        return "", ""
    listed = ", ".join(labels)
    if len(falls) == len(labels) - 1:
        return labels[falls[0]], (
            f"The sizes run backwards: {listed}. Smallest first is usual, and steps count upwards. "
            "Is it meant so?"
        )
    first = falls[0]
    return labels[first], (
        f"Size {labels[first]} stands after {labels[first - 1]}: {listed}. Is this the order of the run?"
    )


def _orders(labels: Sequence[str]) -> list[float] | None:
    """The orders of all labels; None unless all are numbers or all are letters, each another."""
    orders = [order_of(label) for label in labels]
    known = [order for order in orders if order is not None]
    if len(known) < len(labels) or len(set(known)) < len(known):
        return None
    are_numbers = {_NUMBER.fullmatch(label.strip()) is not None for label in labels}
    return known if len(are_numbers) <= 1 else None
