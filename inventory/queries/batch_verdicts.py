"""The current verdicts of a batch, read straight from their stored rows: the map, shifts and left-right bias.

A batch of 500 pieces holds some 40,000 findings, so none is made into an object: rows are walked once, and
the statistics are taken from arrays.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np
from django.db.models import FilteredRelation, Q

from inventory.calc.plan import Aspect
from inventory.models import JudgementBasis, Piece
from inventory.models.findings import Flag
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from inventory.calc.plan import PointPlan
    from inventory.models import Batch

_RANK: Final = {"in": 0, "close": 1, "out": 2}
# Plain numbers and texts: the enums' own operators would take longer than all the rest of the walk.
_DECIDING: Final = int(Flag.DECIDING)
_FAVOURABLE: Final = int(Flag.FAVOURABLE_LIMIT)
_PAIR: Final = Aspect.PAIR.value
_WIDER_PAIR: Final = f"{_PAIR}+"
_SIDES: Final = (Aspect.LEFT.value, Aspect.RIGHT.value, Aspect.SINGLE.value)
# What a deviation is measured from, and how much of it is allowed either way: nominal, minus, plus in nm.
_Room = tuple[int, int, int]


class Cell(NamedTuple):
    """The worst aspect of one point of one piece; lengths in nm."""

    shelf: str
    aspect: str
    deviation_nm: int
    minus_nm: int
    plus_nm: int


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece in the map: what it is, how it was judged, one cell per point (None: not judged)."""

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
    cells: tuple[Cell | None, ...]

    @property
    def severity(self) -> int:
        """Order for "worst first": out, too close to call, in, not judged."""
        return _RANK.get(self.shelf, -1)


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


def batch_picture(batch: Batch) -> BatchPicture:
    """The map and the statistics of a batch by its current verdicts.

    `batch.style` should be loaded. Three statements, one less when the spec's plans are kept in memory,
    whatever the number of pieces.
    """
    pieces = list(_pieces_with_verdict(batch))
    rooms = _rooms_of({row["current__basis"] for row in pieces if row["current__basis"] is not None})
    spec_plans = plans_of(batch)
    walk = [code for code, point in spec_plans.points.items() if not point.informational]
    stray = {code for row in pieces for code in row["current__findings"] or ()} - set(walk)
    codes = (*walk, *sorted(stray))  # a point judged once and switched off since keeps its column
    names = {code: point.name for code, point in spec_plans.points.items()}
    paired = {code: point.is_paired for code, point in spec_plans.points.items()}
    gathered = _Gathered()
    lines = tuple(_line(row, codes, rooms, gathered) for row in pieces)
    return BatchPicture(
        codes=codes,
        lines=lines,
        points=tuple(
            PointStatistics(
                code=code,
                name=names.get(code, ""),
                paired=paired.get(code, bool(gathered.differences[code])),
                shift=_spread(gathered.deviations[code]),
                bias=_spread(gathered.differences[code]),
                verdicts=gathered.verdicts[code],
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
            "number",
            "size_label",
            "colour",
            "standing",
            "current__shelf",
            "current__claim",
            "current__size_suspected",
            "current__fits_size",
            "current__findings",
            "current__basis",
        )
    )


def _rooms_of(basis_ids: Iterable[int]) -> dict[int, dict[str, dict[str, _Room]]]:
    """Per basis, point and aspect ("D+" for the wider left-right limit): nominal, minus and plus."""
    found: dict[int, dict[str, dict[str, _Room]]] = {}
    for basis in JudgementBasis.objects.filter(pk__in=basis_ids):
        found[basis.pk] = {code: _rooms(plan) for code, plan in basis.as_plans().items()}
    return found


def _rooms(plan: PointPlan) -> dict[str, _Room]:
    nominal_nm, limits = plan.nominal_nm, plan.limits
    as_read = (nominal_nm, nominal_nm - limits.lower_nm, limits.upper_nm - nominal_nm)
    rooms: dict[str, _Room] = dict.fromkeys(_SIDES, as_read)
    if plan.is_half:
        full_nm, limits = plan.full_nominal_nm, plan.full_limits
        rooms[Aspect.FULL.value] = (full_nm, full_nm - limits.lower_nm, limits.upper_nm - full_nm)
    if plan.pair_limit is not None:
        usual, wider = plan.pair_limit.limit_nm, plan.pair_limit.favourable_limit_nm
        rooms[_PAIR] = (0, usual, usual)
        rooms[_WIDER_PAIR] = (0, usual if wider is None else wider, usual if wider is None else wider)
    return rooms


class _Gathered:
    """What the walk over the rows collects per point."""

    def __init__(self) -> None:
        self.deviations: defaultdict[str, list[float]] = defaultdict(list)
        self.differences: defaultdict[str, list[float]] = defaultdict(list)
        self.verdicts: defaultdict[str, Counter[str]] = defaultdict(Counter)


def _line(
    row: Mapping[str, Any],  # Any: columns are of every type
    codes: Sequence[str],
    rooms: Mapping[int, Mapping[str, Mapping[str, _Room]]],
    gathered: _Gathered,
) -> PieceLine:
    found = row["current__findings"] or {}
    rooms_here = rooms.get(row["current__basis"], {})
    cells = tuple(
        _cell(found[code], rooms_here[code], code, gathered) if code in found else None for code in codes
    )
    return PieceLine(
        pk=row["pk"],
        number=row["number"],
        label=Piece(number=row["number"]).label,
        size_label=row["size_label"],
        colour=row["colour"],
        standing=row["standing"],
        shelf=row["current__shelf"] or "",
        claim=row["current__claim"] or "",
        size_suspected=bool(row["current__size_suspected"]),
        fits_size=row["current__fits_size"] or "",
        cells=cells,
    )


def _cell(
    rows: Sequence[Sequence[Any]],  # Any: numbers and short strings, as JSON holds them
    rooms: Mapping[str, _Room],
    code: str,
    gathered: _Gathered,
) -> Cell | None:
    """The worst deciding aspect of a point; on the way its deviations go to the statistics."""
    worst: Cell | None = None
    worst_at = (-1, -1.0)
    sides: dict[str, int] = {}
    for aspect, value_nm, _u, _shelf_guard, _claim_guard, _readings, shelf, _claim, _beyond, bits in rows:
        wider = aspect == _PAIR and bits & _FAVOURABLE
        nominal_nm, minus_nm, plus_nm = rooms[_WIDER_PAIR if wider else aspect]
        deviation_nm = value_nm - nominal_nm
        if aspect in _SIDES:
            sides[aspect] = deviation_nm
        if not bits & _DECIDING:
            continue
        at = (_RANK[shelf], _share_used(deviation_nm, plus_nm if deviation_nm > 0 else minus_nm))
        if at > worst_at:
            worst, worst_at = Cell(shelf, aspect, deviation_nm, minus_nm, plus_nm), at
    if sides:
        gathered.deviations[code].append(sum(sides.values()) / len(sides))
    if "L" in sides and "R" in sides:
        gathered.differences[code].append(sides["L"] - sides["R"])
    if worst is not None:
        gathered.verdicts[code][worst.shelf] += 1
    return worst


def _share_used(deviation_nm: int, room_nm: int) -> float:
    if room_nm:
        return abs(deviation_nm) / room_nm
    return math.inf if deviation_nm else 0.0


def _spread(values_nm: Sequence[float]) -> Spread | None:
    if not values_nm:
        return None
    array = np.asarray(values_nm, dtype=np.float64)
    return Spread(
        mean_nm=float(array.mean()),
        sd_nm=float(array.std(ddof=1)) if len(array) > 1 else None,
        count=len(array),
    )
