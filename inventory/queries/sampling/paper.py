"""What the sheet of a batch says of its sample: how it was drawn, what it decided, what follows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from inventory.queries.sampling.rest import rest_of
from inventory.queries.sampling.standing import sampling_of, standing_of_sample

if TYPE_CHECKING:
    from inventory.models import Batch
    from inventory.queries.sampling.standing import SampleStanding


def sample_lines(batch: Batch) -> list[str]:
    """The sentences in order; none for a batch that was not sampled. A decided sample as it was recorded."""
    sampling = sampling_of(batch)
    if sampling is None:
        return []
    standing = standing_of_sample(batch, sampling)
    if standing.plan.every_piece:
        return list(standing.words)
    rest = rest_of(standing)
    lines = [sampling.document["how_to_repeat"], *_decision(standing)]
    if rest is not None:
        lines += [rest["claim"], rest["agreed_quality"], *rest["assumptions"]]
    return [line for line in lines if line]


def _decision(standing: SampleStanding) -> list[str]:
    decided = standing.decided
    if decided is None:
        return ["The batch is not decided yet.", *standing.words]
    words = " ".join(decided.document["words"])
    return [f"The batch was {decided.outcome} on {decided.decided_at:%Y-%m-%d}. {words}"]
