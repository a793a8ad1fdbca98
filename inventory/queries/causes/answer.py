"""Whose fault is it: the answer for one batch, with everything its page shows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from inventory.calc.causes import Batch as Evidence
from inventory.calc.causes import CauseRanking, Elsewhere, Suspect, Whose, Witness, rank_causes
from inventory.queries.causes.check_garments import check_garments_in_those_days
from inventory.queries.causes.other_makers import others_in_the_same_days
from inventory.queries.causes.points import points_for_causes
from inventory.queries.causes.readings import BatchReadings, readings_for_causes
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from inventory.models import Batch

FEWEST_READINGS = 2


@dataclass(frozen=True, slots=True)
class WhoseFault:
    """The answer: what it rests on, and the ranking; None while too little is read to ask."""

    read: BatchReadings
    evidence: Evidence | None
    ranking: CauseRanking | None

    @property
    def ours(self) -> float:
        """How likely it is that the cause is on our side of the bench."""
        return sum(suspect.probability for suspect in self.suspects if suspect.words.whose == Whose.OURS)

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        return () if self.ranking is None else self.ranking.suspects

    @property
    def checks(self) -> tuple[Elsewhere, ...]:
        """What the check garment says."""
        return self._witnesses(Witness.CHECK_GARMENT)

    @property
    def others(self) -> tuple[Elsewhere, ...]:
        """What other makers' pieces say."""
        return self._witnesses(Witness.OTHER_MAKER)

    def _witnesses(self, kind: Witness) -> tuple[Elsewhere, ...]:
        elsewhere = () if self.evidence is None else self.evidence.elsewhere
        return tuple(one for one in elsewhere if one.witness == kind)


def whose_fault(batch: Batch) -> WhoseFault:
    """The causes of a batch's deviations, ranked; at most twelve statements whatever its size.

    `batch.style`, `batch.spec` and `batch.delivery` should be loaded. A ranking of the very same readings is
    kept in memory.
    """
    spec_plans = plans_of(batch)
    read = readings_for_causes(batch, spec_plans)
    if len(read.readings) < FEWEST_READINGS:
        return WhoseFault(read, None, None)
    sizes = sorted({(piece.size, piece.size_label) for piece in read.pieces})
    evidence = Evidence(
        points=points_for_causes(spec_plans, sizes[len(sizes) // 2][1]),
        pieces=read.pieces,
        readings=read.readings,
        elsewhere=(
            *check_garments_in_those_days(first=read.moments[0], last=read.moments[-1]),
            *others_in_the_same_days(batch, first=read.moments[0], last=read.moments[-1]),
        ),
    )
    return WhoseFault(read, evidence, _kept_ranking(evidence))


@lru_cache(maxsize=4)
def _kept_ranking(evidence: Evidence) -> CauseRanking:
    return rank_causes(evidence)
