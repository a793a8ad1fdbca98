"""What a measured sample says of the rest of the batch.

A batch is finite: 80 pieces, of which 13 were measured and 3 called out. How many of the 80 are out is
then a whole number that is not known, and every value of it makes those 3 more or less likely, by the
hypergeometric distribution. The confidence limits are the numbers that the sample does not contradict
(test inversion; Konijn 1973, Buonaccorsi 1987): a number is left out when a sample as extreme as this one
would come up with at most the chance left over by the confidence.

A call can be wrong. With a chance per piece that a good one is called out (``false_bad``) and that a bad
one is not (``false_good``), the number called out is a mixture: of the truly bad pieces in the sample some
are missed, of the good ones some are called out. The limits are inverted on that mixture. For a claim give
the highest ``false_bad`` and ``false_good`` 0: that never overstates the least number. The highest is that
of a *piece*, over all its points and looks, not the one at the limit of one reading: `risk.risk_of_piece`.
Readings by the same hands with the same tape err together: how much of the square of the uncertainty that
is goes into ``shared``.

The chance that the batch meets an agreed quality needs a stated belief beforehand; ours is that every
number of bad pieces from none to all is equally likely (uniform), which makes what is left beta-binomial.

All of it holds for a sample drawn at random, every piece with the same chance (`sampling.draw`). Of a spread
draw small strata give more than their share: hand over its ``chances``, and the limits are cautious. Picked
by hand a sample means nothing.

    sample    Sample, ReadingRates: what was seen, how often a call is wrong
    called    chances of the number called out
    limits    limits_of_bad: at least, at most; in the batch and among those left
    chance    chance_within: that at most so many are bad
    wording   the sentences: for a claim, of the pieces left, of the chance
"""

from inventory.calc.sampling.remaining.chance import Chance, chance_within
from inventory.calc.sampling.remaining.limits import BadLimits, Range, Sides, limits_of_bad
from inventory.calc.sampling.remaining.sample import NEVER_WRONG, ReadingRates, Sample, most_allowed
from inventory.calc.sampling.remaining.wording import say_chance, say_left, say_limits

__all__ = [
    "NEVER_WRONG",
    "BadLimits",
    "Chance",
    "Range",
    "ReadingRates",
    "Sample",
    "Sides",
    "chance_within",
    "limits_of_bad",
    "most_allowed",
    "say_chance",
    "say_left",
    "say_limits",
]
