"""Simulated batches with one known cause each: the cause must come out on top, and none where there is none.

1,000 seeds a cause, the size of each stated in `faults`; the bench and its ordinary spread in `bench`.
"""

from collections import Counter
from functools import cache

import numpy as np
import pytest

from inventory.calc.causes import Answer, Cause
from inventory.calc.causes.evidence import Looked, look_for, weigh
from inventory.calc.causes.layout import lay_out
from inventory.calc.causes.ranking import rank
from tests.calc.causes.bench import Floats, Rows, batch, ordinary, rows
from tests.calc.causes.faults import KNOWN, Known

SEEDS = 1_000
AT_A_TIME = 125


@cache
def bench() -> tuple[Looked, Rows]:
    looked = look_for(lay_out(batch()))
    at = rows()
    assert looked.layout.nominal.tolist() == at.nominal.tolist(), "the simulator's rows are the layout's"
    return looked, at


def ranked(deviations: Floats) -> tuple[Counter[Cause], Counter[Cause | Answer]]:
    """How often each cause came out on top, and how often each was named (or the answer was none)."""
    looked, _ = bench()
    tops: Counter[Cause] = Counter()
    said: Counter[Cause | Answer] = Counter()
    for first in range(0, deviations.shape[1], AT_A_TIME):
        evidence = weigh(looked, deviations[:, first : first + AT_A_TIME])
        result = rank(evidence)
        for place, answer in zip(result.order[0], result.answers, strict=True):
            top = evidence.causes[place]
            tops[top] += 1
            said[top if answer is Answer.CAUSE else answer] += 1
    return tops, said


@pytest.mark.parametrize("known", KNOWN, ids=lambda known: known.cause)
def test_a_known_cause_comes_out_on_top_in_nine_batches_of_ten(known: Known) -> None:
    _, at = bench()
    rng = np.random.default_rng([20261125, KNOWN.index(known)])
    deviations = ordinary(at, rng, batches=SEEDS) + known.adds(at, rng, SEEDS)

    tops, said = ranked(deviations)

    assert tops[known.cause] >= 0.90 * SEEDS, (tops.most_common(4), said.most_common(4))
    wrongly_named = sum(count for what, count in said.items() if what in set(Cause) - {known.cause})
    assert wrongly_named <= 0.05 * SEEDS, said.most_common(4)


@pytest.mark.parametrize("spread", [0.6, 1.0, 1.6])
def test_nobody_is_blamed_in_more_than_one_batch_of_twenty_without_a_cause(spread: float) -> None:
    _, at = bench()
    rng = np.random.default_rng([20261125, 100])

    _, said = ranked(ordinary(at, rng, batches=SEEDS, spread=spread))

    assert said[Answer.NOTHING] + said[Answer.CANNOT_TELL] >= 0.95 * SEEDS, said.most_common(6)
