"""What is known of a maker beforehand: how the true lengths of earlier batches of a style lie and spread.

Deviations from nominal, all sizes together, of the current verdicts. What our own reading adds to the spread
is taken out: the mean square of its uncertainties off the square of the spread seen. The mean and the spread
so found are then taken as known and as a bell curve; of eight pieces that is a rough guess, and said so.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from inventory.calc.plan import Aspect
from inventory.calc.risk import MakerSpread
from inventory.models import JudgementBasis, PieceVerdict

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from inventory.calc.judging import Finding
    from inventory.models import Batch

LEAST_PIECES: Final = 8
"""Pieces below which nothing is said of a maker. Our own choice, no source."""
MOST_PIECES: Final = 300
"""The newest so many are looked at: what a maker did long ago says little of today."""


@dataclass(frozen=True, slots=True)
class KnownSpread:
    """Deviations from nominal (nm) of one aspect of one point, over `pieces` pieces.

    `sd_nm` is None where the readings differ no more than reading alone explains.
    """

    pieces: int
    mean_nm: float
    sd_nm: float | None

    def around(self, nominal_nm: int) -> MakerSpread | None:
        """The spread of true lengths around a nominal, or None when too little is known."""
        if self.sd_nm is None or self.pieces < LEAST_PIECES:
            return None
        return MakerSpread(nominal_nm + self.mean_nm, self.sd_nm)


Spreads = dict[tuple[str, Aspect], KnownSpread]


def spreads_before(batch: Batch) -> Spreads:
    """What earlier batches of the same maker and style say, by point and aspect. Two statements.

    `batch.delivery` should be loaded.
    """
    return _spreads(
        batch__style=batch.style_id,
        batch__delivery__maker=batch.delivery.maker_id,
        batch__number__lt=batch.number,
    )


def spreads_with(batch: Batch) -> Spreads:
    """The same with the batch itself: for what a rule does to the pieces of this maker as a whole."""
    return _spreads(
        batch__style=batch.style_id,
        batch__delivery__maker=batch.delivery.maker_id,
        batch__number__lte=batch.number,
    )


def _spreads(**of: int) -> Spreads:
    verdicts = list(
        PieceVerdict.objects.filter(
            is_current=True, **{f"piece__{name}": value for name, value in of.items()}
        )
        .only("findings", "basis_id")
        .order_by("-pk")[:MOST_PIECES]
    )
    bases: Mapping[int, JudgementBasis] = JudgementBasis.objects.in_bulk({v.basis_id for v in verdicts})
    seen: defaultdict[tuple[str, Aspect], list[tuple[int, int]]] = defaultdict(list)
    for verdict in verdicts:
        verdict.basis = bases[verdict.basis_id]
        for code, findings in verdict.as_findings().items():
            for finding in _of_both_sides(findings):
                seen[code, finding.aspect].append((finding.deviation_nm, finding.u_nm))
    return {place: _known(found) for place, found in seen.items()}


def _of_both_sides(findings: Iterable[Finding]) -> Iterable[Finding]:
    """What was really read: a full girth guessed from one half says nothing of its own."""
    return (finding for finding in findings if not finding.from_one_half)


def _known(found: list[tuple[int, int]]) -> KnownSpread:
    deviations, u = np.array(found, np.float64).T
    if len(found) < 2:
        return KnownSpread(len(found), float(deviations.mean()), None)
    square = float(deviations.var(ddof=1) - (u**2).mean())
    return KnownSpread(len(found), float(deviations.mean()), math.sqrt(square) if square > 0 else None)
