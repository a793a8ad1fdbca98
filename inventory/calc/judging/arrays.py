"""Findings of many pieces of one size as columns of arrays, one entry a piece.

Codes are int8: 0 in, 1 too close to call, 2 out, and -1 where there is no verdict (not read, or the piece
is not complete). Where ``there`` is False the other arrays hold no meaning. Arrays that are the same for
every piece may be read-only views of a single number, so they take no room.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inventory.calc.conformity import VERDICT_OF_CODE, Codes, Lengths, Verdict
from inventory.calc.judging.findings import Finding, PieceJudgement
from inventory.calc.plan import Aspect

Flags = npt.NDArray[np.bool_]

NO_VERDICT_CODE = -1


@dataclass(frozen=True, slots=True, eq=False)
class ManyFindings:
    """One aspect of one point over many pieces; the fields are those of ``Finding``."""

    code: str
    aspect: Aspect
    there: Flags
    value_nm: Lengths
    nominal_nm: int
    lower_nm: Lengths
    upper_nm: Lengths
    u_nm: Lengths
    readings: Lengths
    shelf: Codes
    shelf_guard_nm: Lengths
    claim: Codes
    claim_guard_nm: Lengths
    beyond_nm: Lengths
    by_final_rule: Flags
    deciding: Flags
    from_one_half: Flags

    def at(self, piece: int) -> Finding | None:
        """The finding of one piece (by its row), or None where nothing was read."""
        if not self.there[piece]:
            return None
        return Finding(
            aspect=self.aspect,
            value_nm=int(self.value_nm[piece]),
            nominal_nm=self.nominal_nm,
            lower_nm=int(self.lower_nm[piece]),
            upper_nm=int(self.upper_nm[piece]),
            u_nm=int(self.u_nm[piece]),
            readings=int(self.readings[piece]),
            shelf=VERDICT_OF_CODE[self.shelf[piece]],
            shelf_guard_nm=int(self.shelf_guard_nm[piece]),
            claim=VERDICT_OF_CODE[self.claim[piece]],
            claim_guard_nm=int(self.claim_guard_nm[piece]),
            beyond_nm=int(self.beyond_nm[piece]),
            by_final_rule=bool(self.by_final_rule[piece]),
            deciding=bool(self.deciding[piece]),
            from_one_half=bool(self.from_one_half[piece]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class ManyJudged:
    """Many pieces of one size, judged.

    ``missing`` marks the cells (pieces × columns) still to be read; a half that the other may stand in
    for is not missing. ``shelf`` and ``claim`` are the pieces' own verdict codes; ``worst`` is the position
    in ``findings`` of each piece's worst deciding finding (-1 when nothing is judged).
    """

    columns: tuple[tuple[str, str], ...]
    findings: Mapping[tuple[str, Aspect], ManyFindings]
    missing: Flags
    complete: Flags
    shelf: Codes
    claim: Codes
    worst: npt.NDArray[np.int16]

    def piece(self, piece: int) -> PieceJudgement:
        """The judgement of one piece (by its row), as ``judge_piece`` gives it."""
        found: dict[str, tuple[Finding, ...]] = {code: () for code, _ in self.columns}
        for (code, _), many in self.findings.items():
            if (finding := many.at(piece)) is not None:
                found[code] += (finding,)
        worst = int(self.worst[piece])
        worst_code, worst_aspect = tuple(self.findings)[worst] if worst >= 0 else (None, None)
        return PieceJudgement(
            shelf=verdict_of(int(self.shelf[piece])),
            claim=verdict_of(int(self.claim[piece])),
            worst_code=worst_code,
            worst_aspect=worst_aspect,
            complete=bool(self.complete[piece]),
            missing=tuple(
                column for column, wanted in zip(self.columns, self.missing[piece], strict=True) if wanted
            ),
            findings=found,
        )


def verdict_of(code: int) -> Verdict | None:
    """The verdict a code stands for; None for "no verdict"."""
    return None if code == NO_VERDICT_CODE else VERDICT_OF_CODE[code]
