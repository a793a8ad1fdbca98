"""What a plan really does: the chance that a batch passes, and what follows from it.

To be looked at before a plan is chosen. For the real batch everything is exact (hypergeometric); the
binomial and Poisson curves of a long series are there to compare, and for defects per 100 pieces.

    curve, batch_points    points of the operating curve of a batch, in whole bad pieces
    series_points          the same for a series: binomial or Poisson
    passing_chance         one chance; say_passing puts it in words
    risk_points            which batches pass nearly always, which hardly ever (producer's, consumer's risk)
    quality_at             the share of a series passed with a given chance
    worst_outgoing         the worst average quality leaving if refused batches are inspected whole (AOQL)

Every point carries the outgoing quality (AOQ) and the average pieces drawn (ASN) and inspected (ATI). A batch
in the gap of a reduced plan counts as passed.
"""

from inventory.calc.sampling.curves.points import (
    CurvePoint,
    Model,
    batch_points,
    curve,
    passing_chance,
    say_passing,
    series_points,
)
from inventory.calc.sampling.curves.searches import (
    RiskPoints,
    check_risk,
    quality_at,
    risk_points,
    worst_outgoing,
)

__all__ = [
    "CurvePoint",
    "Model",
    "RiskPoints",
    "batch_points",
    "check_risk",
    "curve",
    "passing_chance",
    "quality_at",
    "risk_points",
    "say_passing",
    "series_points",
    "worst_outgoing",
]
