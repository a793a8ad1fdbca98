"""The current verdicts of a batch: the map, shifts and left-right bias.

A batch of 500 pieces holds some 40,000 findings, so none is made into an object: `verdict_cells` reads them
from their stored rows, and the statistics are taken from arrays.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from django.db.models import FilteredRelation, Q

from inventory.models import Piece
from inventory.queries.pieces import waits_again
from inventory.queries.plans import plans_of
from inventory.queries.verdict_cells import RANK, Cell, VerdictCells, cells_of_batch

if TYPE_CHECKING:
    from inventory.models import Batch


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece in the map: what it is, how it was judged, one cell per point (None: not judged).

    `judged_size` is the size its verdict was given by, which a re-label leaves behind.
    """

    pk: int
    number: int
    label: str
    size_label: str
    colour: str
    standing: str
    shelf: str
    claim: str
    size_suspected: bool
    fits_size: str
    judged_size: str
    cells: tuple[Cell | None, ...]

    @property
    def to_measure_again(self) -> bool:
        """Whether its label was changed since it was judged, and nothing else was decided for it."""
        return waits_again(standing=self.standing, size_label=self.size_label, judged_size=self.judged_size)

    @property
    def severity(self) -> int:
        """Order for "worst first": out, too close to call, in, not judged."""
        return RANK.get(self.shelf, -1)


@dataclass(frozen=True, slots=True)
class Spread:
    """Mean, spread and number of some lengths (nm); no spread of a single one."""

    mean_nm: float
    sd_nm: float | None
    count: int

    @property
    def doubt_nm(self) -> float | None:
        """Twice the standard error of the mean: the mean's own uncertainty, about 95 %."""
        return None if self.sd_nm is None else 2 * self.sd_nm / math.sqrt(self.count)

    @property
    def stands_out(self) -> bool:
        """Whether the mean differs from zero by more than its own uncertainty."""
        return self.doubt_nm is not None and self.count >= 3 and abs(self.mean_nm) > self.doubt_nm


@dataclass(frozen=True, slots=True)
class PointStatistics:
    """One point over the batch: deviations as read, left minus right, and pieces by verdict."""

    code: str
    name: str
    paired: bool
    shift: Spread | None
    bias: Spread | None
    verdicts: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class BatchPicture:
    """All pieces of a batch as lines of a map, and the statistics of each point."""

    codes: tuple[str, ...]
    lines: tuple[PieceLine, ...]
    points: tuple[PointStatistics, ...]

    @property
    def shifted(self) -> bool:
        """Whether some point of the batch as a whole lies off by more than its own uncertainty."""
        return any(point.shift is not None and point.shift.stands_out for point in self.points)


def batch_picture(batch: Batch) -> BatchPicture:
    """The map and the statistics of a batch by its current verdicts.

    `batch.style` should be loaded. Four statements whatever the number of pieces, one less when the
    spec's plans are kept in memory, and two less when nothing was judged since the map was last drawn.
    """
    pieces = list(_pieces_with_verdict(batch))
    said = cells_of_batch(batch.pk, (row["current__pk"] for row in pieces if row["current__pk"] is not None))
    points = plans_of(batch).points
    walk = [code for code, point in points.items() if not point.informational]
    stray = {code for one in said.values() for code in one.cells} - set(walk)
    codes = (*walk, *sorted(stray))  # a point judged once and switched off since keeps its column
    in_order = [said[row["current__pk"]] for row in pieces if row["current__pk"] in said]
    return BatchPicture(
        codes=codes,
        lines=tuple(_line(row, codes, said.get(row["current__pk"])) for row in pieces),
        points=tuple(
            _statistics(
                code,
                in_order,
                name=points[code].name if code in points else "",
                paired=points[code].is_paired if code in points else None,
            )
            for code in codes
        ),
    )


def _pieces_with_verdict(batch: Batch) -> Iterable[Mapping[str, Any]]:  # Any: columns are of every type
    return (
        Piece.objects.filter(batch=batch)
        .annotate(current=FilteredRelation("verdicts", condition=Q(verdicts__is_current=True)))
        .order_by("number")
        .values(
            "pk",
            "current__pk",
            "number",
            "size_label",
            "colour",
            "standing",
            "current__shelf",
            "current__claim",
            "current__size_suspected",
            "current__fits_size",
            "current__basis__size_label",
        )
    )


def _line(
    row: Mapping[str, Any],  # Any: columns are of every type
    codes: Sequence[str],
    said: VerdictCells | None,
) -> PieceLine:
    judged_size = row["current__basis__size_label"] or ""
    return PieceLine(
        pk=row["pk"],
        number=row["number"],
        label=Piece(number=row["number"]).label,
        size_label=row["size_label"],
        colour=row["colour"],
        standing=row["standing"],
        shelf=row["current__shelf"] or "",
        claim=row["current__claim"] or "",
        # What was suspected of a label is settled once the label is another.
        size_suspected=bool(row["current__size_suspected"]) and judged_size == row["size_label"],
        fits_size=row["current__fits_size"] or "",
        judged_size=judged_size,
        cells=tuple(said.cells.get(code) for code in codes) if said else (None,) * len(codes),
    )


def _statistics(
    code: str, said: Sequence[VerdictCells], *, name: str, paired: bool | None
) -> PointStatistics:
    """One point over all verdicts; `paired` is None for a point that is no longer in the spec."""
    differences = [one.differences[code] for one in said if code in one.differences]
    return PointStatistics(
        code=code,
        name=name,
        paired=bool(differences) if paired is None else paired,
        shift=_spread([one.deviations[code] for one in said if code in one.deviations]),
        bias=_spread(differences),
        verdicts=Counter(cell.shelf for one in said if (cell := one.cells.get(code)) is not None),
    )


def _spread(values_nm: Sequence[float]) -> Spread | None:
    if not values_nm:
        return None
    array = np.asarray(values_nm, dtype=np.float64)
    return Spread(
        mean_nm=float(array.mean()),
        sd_nm=float(array.std(ddof=1)) if len(array) > 1 else None,
        count=len(array),
    )
