"""What other makers' pieces did in the same days: if all of them moved alike, we did."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from django.db.models import Avg, Count, Max

from inventory.calc.causes import Elsewhere, Witness
from inventory.models import Reading, Shop, SpecCell
from inventory.models.inspections import PieceState
from inventory.models.points import Kind
from inventory.queries.tape_corrections import tapes_of

if TYPE_CHECKING:
    from inventory.models import Batch

HABIT_NM: Final = 1_000_000
"""How far one maker's pieces ordinarily lie off as a whole (SD; common practice, no source)."""

AT_A_POINT_NM: Final = 2_000_000
"""And how far at a single point, beside that (SD; common practice, no source)."""

FEWEST_PIECES: Final = 3


@dataclass(slots=True)
class _Moved:
    """Means of one maker's points (nm): deviation and nominal, with how many readings; pieces by point."""

    offs: list[float] = field(default_factory=list)
    nominals: list[int] = field(default_factory=list)
    readings: list[int] = field(default_factory=list)
    pieces: Counter[int] = field(default_factory=Counter)

    def mean(self, values: list[float] | list[int]) -> float:
        pairs = zip(values, self.readings, strict=True)
        return sum(value * count for value, count in pairs) / sum(self.readings)


def others_in_the_same_days(batch: Batch, *, first: dt.datetime, last: dt.datetime) -> tuple[Elsewhere, ...]:
    """Girths and lengths of each other maker measured between two moments, against nominal; two statements.

    Sittings up to a day before the first and after the last count. Makers with fewer than three pieces say
    nothing. Each group of figures is taken without the error of its tape, as known at the newest of them.
    """
    day = dt.timedelta(days=1)
    groups = list(
        Reading.objects.in_effect()
        .filter(inspection__opened_at__gt=first - day, inspection__opened_at__lt=last + day)
        .exclude(inspection__piece__batch__delivery__maker=batch.delivery.maker_id)
        .exclude(piece_state=PieceState.REWORKED)
        .filter(point__informational=False)
        .exclude(point__kind=Kind.PLACEMENT)
        .order_by("inspection__piece__batch__delivery__maker__name", "point_id")
        .values_list(
            "inspection__piece__batch__delivery__maker__name",
            "inspection__piece__batch__spec_id",
            "inspection__piece__size_label",
            "point_id",
            "point__kind",
            "instrument_id",
        )
        .annotate(Max("taken_at"), Avg("length_nm"), Count("id"), Count("inspection__piece", distinct=True))
    )
    nominals = _nominals({group[1] for group in groups})
    tapes = tapes_of(Shop.objects.current())
    moved: defaultdict[tuple[str, bool], _Moved] = defaultdict(_Moved)
    for maker, spec, size, point, kind, tape, at, mean_nm, count, pieces in groups:
        nominal_nm = nominals.get((spec, size, point))
        if nominal_nm is not None:
            of_maker = moved[maker, kind != Kind.LENGTH]
            known = tapes.at(tape, at)
            length_nm = float(mean_nm) if known is None else known.segment.line.corrected_nm(round(mean_nm))
            of_maker.offs.append(length_nm - nominal_nm)
            of_maker.nominals.append(nominal_nm)
            of_maker.readings.append(count)
            of_maker.pieces[point] += pieces
    return tuple(
        _witness(maker, found, is_girth=is_girth)
        for (maker, is_girth), found in moved.items()
        if max(found.pieces.values()) >= FEWEST_PIECES
    )


def _witness(maker: str, found: _Moved, *, is_girth: bool) -> Elsewhere:
    mean_nm = found.mean(found.offs)
    points = len(found.offs)
    seen_nm = math.sqrt(sum((off - mean_nm) ** 2 for off in found.offs) / max(points - 1, 1))
    return Elsewhere(
        witness=Witness.OTHER_MAKER,
        name=f"{maker}, {'girths' if is_girth else 'lengths'}",
        nominal_nm=round(found.mean(found.nominals)),
        shift_nm=round(mean_nm),
        u_nm=math.hypot(HABIT_NM, max(seen_nm, AT_A_POINT_NM) / math.sqrt(points)),
        is_girth=is_girth,
    )


def _nominals(specs: set[int]) -> dict[tuple[int, str, int], int]:
    cells = SpecCell.objects.filter(spec_point__spec__in=specs).order_by()
    return {
        (spec, size, point): nominal_nm
        for spec, size, point, nominal_nm in cells.values_list(
            "spec_point__spec_id", "size__label", "spec_point__point_id", "nominal_nm"
        )
    }
