"""What a stored verdict says of each point, as the map of a batch shows it, and kept in memory.

A verdict never changes once it is stored, and the page of a batch is opened again after every piece, so what
was read of a verdict is kept: decoding the findings of 500 pieces is most of what such a page costs.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from inventory.calc.plan import Aspect
from inventory.models import JudgementBasis, PieceVerdict
from inventory.models.findings import Flag

if TYPE_CHECKING:
    from inventory.calc.plan import PointPlan

MOST_KEPT: Final = 4_000  # some 7 kB each
_FEW: Final = 500  # ids named one by one in a statement

RANK: Final = {"in": 0, "close": 1, "out": 2}
# Plain numbers and texts: the enums' own operators would take longer than all the rest of the walk.
_DECIDING: Final = int(Flag.DECIDING)
_FAVOURABLE: Final = int(Flag.FAVOURABLE_LIMIT)
_PAIR: Final = Aspect.PAIR.value
_WIDER_PAIR: Final = f"{_PAIR}+"
_SIDES: Final = (Aspect.LEFT.value, Aspect.RIGHT.value, Aspect.SINGLE.value)
# What a deviation is measured from, and how much of it is allowed either way: nominal, minus, plus in nm.
_Room = tuple[int, int, int]
_Rooms = Mapping[str, Mapping[str, _Room]]


class Cell(NamedTuple):
    """The worst aspect of one point of one piece; lengths in nm."""

    shelf: str
    aspect: str
    deviation_nm: int
    minus_nm: int
    plus_nm: int


@dataclass(frozen=True, slots=True)
class VerdictCells:
    """A verdict by point: the cell, the deviation as read (of a pair the mean), left minus right; nm."""

    cells: Mapping[str, Cell | None]
    deviations: Mapping[str, float]
    differences: Mapping[str, int]


_kept: dict[int, VerdictCells] = {}
_lock = threading.Lock()


def cells_of_batch(batch_id: int, verdict_ids: Iterable[int]) -> dict[int, VerdictCells]:
    """What these current verdicts of a batch say; two statements, none when all are in memory."""
    wanted = set(verdict_ids)
    with _lock:
        found = {pk: _kept[pk] for pk in wanted if pk in _kept}
    missing = wanted - found.keys()
    if missing:
        read = _read(batch_id, missing)
        found |= read
        _keep(read)
    return found


def forget_kept() -> None:
    """Forget what was read, because rows were taken back and their numbers will be given again."""
    with _lock:
        _kept.clear()


def _keep(read: Mapping[int, VerdictCells]) -> None:
    with _lock:
        _kept.update(read)
        while len(_kept) > MOST_KEPT:
            del _kept[next(iter(_kept))]


def _read(batch_id: int, missing: set[int]) -> dict[int, VerdictCells]:
    rows = PieceVerdict.objects.filter(piece__batch=batch_id, is_current=True)
    if len(missing) <= _FEW:
        rows = rows.filter(pk__in=missing)
    stored = list(rows.values_list("pk", "basis_id", "findings"))
    rooms = _rooms_of({basis_id for _, basis_id, _ in stored})
    return {pk: _cells(findings or {}, rooms[basis_id]) for pk, basis_id, findings in stored}


def _rooms_of(basis_ids: Iterable[int]) -> dict[int, _Rooms]:
    """Per basis, point and aspect ("D+" for the wider left-right limit): nominal, minus and plus."""
    return {
        basis.pk: {code: _rooms(plan) for code, plan in basis.as_plans().items()}
        for basis in JudgementBasis.objects.filter(pk__in=basis_ids)
    }


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


def _cells(
    findings: Mapping[str, Sequence[Sequence[Any]]],  # Any: numbers and short strings, as JSON holds them
    rooms: _Rooms,
) -> VerdictCells:
    cells: dict[str, Cell | None] = {}
    deviations: dict[str, float] = {}
    differences: dict[str, int] = {}
    for code, rows in findings.items():
        cells[code], sides = _cell(rows, rooms[code])
        if sides:
            deviations[code] = sum(sides.values()) / len(sides)
        if "L" in sides and "R" in sides:
            differences[code] = sides["L"] - sides["R"]
    return VerdictCells(cells, deviations, differences)


def _cell(
    rows: Sequence[Sequence[Any]],  # Any: numbers and short strings, as JSON holds them
    rooms: Mapping[str, _Room],
) -> tuple[Cell | None, dict[str, int]]:
    """The worst deciding aspect of a point, and the deviation of each side as read."""
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
        at = (RANK[shelf], _share_used(deviation_nm, plus_nm if deviation_nm > 0 else minus_nm))
        if at > worst_at:
            worst, worst_at = Cell(shelf, aspect, deviation_nm, minus_nm, plus_nm), at
    return worst, sides


def _share_used(deviation_nm: int, room_nm: int) -> float:
    if room_nm:
        return abs(deviation_nm) / room_nm
    return math.inf if deviation_nm else 0.0
