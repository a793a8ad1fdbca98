"""The limit numbers of MIL-STD-105E, Table VIII: how few bad pieces earn reduced inspection.

The table is not typed in but made: at the least number of pieces n of each of its rows, and an AQL of p, the
limit is np − 1.282 √(np), rounded down: a maker who is just as good as the AQL stays within it about one time
in ten. Rows recalled from the table agree in all figures but one (see the tests). Where the limit would be
below 0 the table shows a star: more than ten batches are needed before reduced inspection can be earned.
"""

import math
from decimal import Decimal

from inventory.calc.errors import ImpossibleInput

ROWS = (
    20, 30, 50, 80, 130, 200, 320, 500, 800, 1250, 2000, 3150, 5000, 8000, 12500, 20000, 31500,
)  # fmt: skip
"""The least number of pieces, over ten batches, of each row of Table VIII."""

ONE_IN_TEN = 1.282
"""The point of the normal distribution that one in ten lies beyond."""


def limit_number(pieces: int, aql: Decimal) -> int | None:
    """The most bad pieces among ``pieces`` sampled of the last batches; None if they are too few to tell.

    Raises ImpossibleInput for a negative number of pieces.

    >>> limit_number(500, Decimal("2.5")), limit_number(130, Decimal("1.0"))
    (7, None)
    """
    if pieces < 0:
        raise ImpossibleInput("pieces sampled", pieces, "Give 0 or more")
    least = max((row for row in ROWS if row <= pieces), default=0)
    expected = float(least * aql / 100)
    limit = math.floor(expected - ONE_IN_TEN * math.sqrt(expected))
    return limit if least and limit >= 0 else None
