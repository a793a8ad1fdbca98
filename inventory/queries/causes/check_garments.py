"""What the check garments said in the days a batch was measured: whether it was us that moved."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from typing import TYPE_CHECKING, Final

from inventory.calc.causes import Elsewhere, Witness
from inventory.models.points import Kind
from inventory.queries.own.check_garment import state_at

if TYPE_CHECKING:
    from inventory.queries.own.check_garment import ColumnChart, GarmentState

SPEAKS_FOR: Final = dt.timedelta(days=3)
"""A sitting before the batch says something of it for so long; common practice, no source."""

LEAST_U_NM: Final = 250_000
"""Nobody's figures agree closer than this (common practice, no source)."""


def check_garments_in_those_days(*, first: dt.datetime, last: dt.datetime) -> tuple[Elsewhere, ...]:
    """Per check garment how far its girths and its lengths had moved when the batch was measured.

    By the newest sitting until then, if it is not older than three days before the batch's first reading.
    At most two statements.
    """
    state = state_at(last)
    if state is None:
        return ()
    return tuple(
        witness
        for garment in state.garments
        if garment.newest_at is not None and garment.newest_at >= first - SPEAKS_FOR
        for witness in _witnesses(garment)
    )


def _witnesses(garment: GarmentState) -> list[Elsewhere]:
    groups: defaultdict[bool, list[ColumnChart]] = defaultdict(list)
    for column in garment.columns:
        if column.shift is not None and column.point.kind != Kind.PLACEMENT:
            groups[column.point.kind != Kind.LENGTH].append(column)
    return [_witness(garment, columns, is_girth=is_girth) for is_girth, columns in groups.items()]


def _witness(garment: GarmentState, columns: list[ColumnChart], *, is_girth: bool) -> Elsewhere:
    shifts = [column.shift for column in columns if column.shift is not None]
    means = [column.chart.mean_nm for column in columns if column.chart.mean_nm is not None]
    return Elsewhere(
        witness=Witness.CHECK_GARMENT,
        name=f"Check garment {garment.garment.code}, {'girths' if is_girth else 'lengths'}",
        nominal_nm=round(math.fsum(means) / len(means)),
        shift_nm=round(math.fsum(one.nm for one in shifts) / len(shifts)),
        # The same hands at the same sitting: what is wrong with one figure may be with all.
        u_nm=max(math.fsum(one.u_nm for one in shifts) / len(shifts), LEAST_U_NM),
        is_girth=is_girth,
    )
