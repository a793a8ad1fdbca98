"""What a few measured values say of all that were not measured: intervals with a stated confidence.

Which interval answers which question (Hahn and Meeker, Statistical Intervals; from memory):

- where is the *mean*, or the *SD*, of what the maker makes: ``mean_interval``, ``sd_interval``;
- where will the *next* piece lie, or the mean of the next few: ``prediction_interval``;
- between which lengths lie at least 95 % of *all* pieces: ``tolerance_interval``, ``tolerance_bound``, and
  without a bell curve ``order_for_bound``, ``smallest_sample``;
- which *share* of pieces is out: ``clopper_pearson``, ``wilson``, ``jeffreys``, ``upper_share``;
- how does the spread compare with the limits: ``capability``.

The bell-curve ones take a ``Sample`` (see ``sample_of``). Values are plain floats in any one unit; results
are ``Interval`` in that unit. Nothing here knows of reading error: the spread of readings holds it.
"""

from inventory.calc.intervals.capability import Capability, capability
from inventory.calc.intervals.normal import (
    Interval,
    Sample,
    mean_interval,
    prediction_interval,
    sample_of,
    sd_interval,
)
from inventory.calc.intervals.order import order_for_bound, smallest_sample
from inventory.calc.intervals.share import clopper_pearson, jeffreys, upper_share, wilson
from inventory.calc.intervals.tolerance import (
    one_sided_factor,
    rounded_up,
    tolerance_bound,
    tolerance_interval,
    two_sided_factor,
)

__all__ = [
    "Capability",
    "Interval",
    "Sample",
    "capability",
    "clopper_pearson",
    "jeffreys",
    "mean_interval",
    "one_sided_factor",
    "order_for_bound",
    "prediction_interval",
    "rounded_up",
    "sample_of",
    "sd_interval",
    "smallest_sample",
    "tolerance_bound",
    "tolerance_interval",
    "two_sided_factor",
    "upper_share",
    "wilson",
]
