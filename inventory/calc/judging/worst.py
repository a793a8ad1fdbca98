"""Which finding decides for a piece: the worst verdict, and among equals the one using most tolerance.

Sharing out by tolerance, not by millimetres, puts 2 mm out at a ±2 mm eyelet row before 3 mm out at a
±6 mm hem. One value at a time and through arrays, with the same divisions.
"""

import math
from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from inventory.calc.conformity import code_of
from inventory.calc.judging.arrays import NO_VERDICT_CODE, Flags, ManyFindings, ManyJudged
from inventory.calc.judging.findings import Finding
from inventory.calc.plan import Aspect


def badness(finding: Finding) -> tuple[int, float]:
    """Order of findings for the worst point: the shelf verdict, then the share of the tolerance used."""
    deviation_nm = finding.value_nm - finding.nominal_nm
    room_nm = (
        finding.upper_nm - finding.nominal_nm if deviation_nm > 0 else finding.nominal_nm - finding.lower_nm
    )
    if room_nm == 0:
        return code_of(finding.shelf), math.inf if deviation_nm else 0.0
    return code_of(finding.shelf), abs(deviation_nm) / room_nm


def sum_up(
    columns: tuple[tuple[str, str], ...], found: Mapping[tuple[str, Aspect], ManyFindings], missing: Flags
) -> ManyJudged:
    """The verdict and the worst finding of every piece; no verdict for a piece with a cell missing."""
    pieces = len(missing)
    complete = np.full(pieces, bool(columns))
    complete &= ~missing.any(axis=1)
    shelf, claim = np.full((2, pieces), NO_VERDICT_CODE, np.int8)
    worst = np.full(pieces, -1, np.int16)
    used = np.full(pieces, -1.0)
    for position, many in enumerate(found.values()):
        used_here = _share_used(many)
        worse = many.shelf == shelf
        worse &= used_here > used
        worse |= many.shelf > shelf
        worse &= many.deciding
        shelf[worse] = many.shelf[worse]
        used[worse] = used_here[worse]
        worst[worse] = position
        np.maximum(claim, many.claim, out=claim, where=many.deciding)
    shelf[~complete] = NO_VERDICT_CODE
    claim[~complete] = NO_VERDICT_CODE
    return ManyJudged(columns, found, missing, complete, shelf=shelf, claim=claim, worst=worst)


def _share_used(many: ManyFindings) -> npt.NDArray[np.float64]:
    """Share of the tolerance each value uses up; the same division as on the plain road."""
    deviation_nm = many.value_nm - many.nominal_nm
    room_nm = np.where(deviation_nm > 0, many.upper_nm - many.nominal_nm, many.nominal_nm - many.lower_nm)
    none = room_nm == 0
    used = np.abs(deviation_nm) / np.where(none, 1, room_nm)
    used[none & (deviation_nm != 0)] = math.inf
    return used
