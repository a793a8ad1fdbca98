"""Grade one aspect of one point over many pieces by a fixed pair of rules.

Uncertainties and guard bands come from the very functions the plain road uses, once per different
combination of counts, so both roads agree to the nanometre.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inventory.calc.conformity import (
    CLOSE_CODE,
    IN_CODE,
    OUT_CODE,
    Codes,
    Lengths,
    Rule,
    decide_many,
    guard_nm,
)
from inventory.calc.judging.arrays import NO_VERDICT_CODE, Flags, ManyFindings
from inventory.calc.judging.columns import combinations
from inventory.calc.plan import Aspect
from inventory.calc.uncertainty import Combined


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """Uncertainty (rounded up) and the two guard bands of every piece, in nm."""

    u_nm: Lengths
    shelf_guard_nm: Lengths
    claim_guard_nm: Lengths

    def where(self, chosen: Flags, other: "Spread") -> "Spread":
        """This spread for the chosen pieces, the other for the rest."""
        return Spread(
            np.where(chosen, self.u_nm, other.u_nm),
            np.where(chosen, self.shelf_guard_nm, other.shelf_guard_nm),
            np.where(chosen, self.claim_guard_nm, other.claim_guard_nm),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Values:
    """What is to be graded: values against limits (nm), how many readings each rests on, which exist."""

    value_nm: Lengths
    nominal_nm: int
    lower_nm: Lengths
    upper_nm: Lengths
    readings: Lengths
    there: Flags
    deciding: bool
    from_one_half: Flags | None = None
    one_half_will_do: bool = False

    def deciding_cells(self, guessed: Flags) -> Flags:
        """Where the finding counts for the piece: a guessed full girth only if one half will do."""
        return self.there if self.one_half_will_do else self.there & ~guessed


class Grader:
    """The two rules, for a given number of pieces."""

    def __init__(self, shelf: Rule, claim: Rule, pieces: int) -> None:
        self.shelf, self.claim, self.pieces = shelf, claim, pieces

    def same(self, number: int) -> Lengths:
        """The same number for every piece, in no room."""
        return np.broadcast_to(np.int64(number), (self.pieces,))

    def spread(self, sure_of: Callable[..., Combined], *counts: Lengths) -> Spread:
        """Uncertainty and guard bands from ``sure_of``, asked once per combination of counts."""
        examples, which = combinations(counts)
        table = np.empty((3, len(examples)), np.int64)
        for position, row in enumerate(examples):
            sure = sure_of(*(int(count[row]) for count in counts))
            guards = (guard_nm(sure.u_nm, rule, dof=sure.dof) for rule in (self.shelf, self.claim))
            table[:, position] = math.ceil(sure.u_nm), *guards
        if len(examples) == 1:
            return Spread(*(self.same(int(number)) for number in table[:, 0]))
        return Spread(*table[:, which])

    def grade(self, code: str, aspect: Aspect, values: Values, spread: Spread) -> ManyFindings:
        """Judge by both rules; cells that are not there get no verdict."""
        never = np.broadcast_to(np.False_, (self.pieces,))
        guessed = never if values.from_one_half is None else values.from_one_half
        # The cure for a guessed full girth is to read the other half: repeats never close it.
        counted = values.readings if values.from_one_half is None else np.where(guessed, 1, values.readings)
        beyond_nm = np.maximum(values.lower_nm - values.value_nm, values.value_nm - values.upper_nm)
        shelf = decide_many(values.value_nm, values.lower_nm, values.upper_nm, spread.shelf_guard_nm)
        claim = decide_many(values.value_nm, values.lower_nm, values.upper_nm, spread.claim_guard_nm)
        final = _end(shelf, beyond_nm, counted, self.shelf)
        _end(claim, beyond_nm, counted, self.claim)
        shelf[~values.there] = NO_VERDICT_CODE
        claim[~values.there] = NO_VERDICT_CODE
        return ManyFindings(
            code=code,
            aspect=aspect,
            there=values.there,
            value_nm=values.value_nm,
            nominal_nm=values.nominal_nm,
            lower_nm=values.lower_nm,
            upper_nm=values.upper_nm,
            u_nm=spread.u_nm,
            readings=values.readings,
            shelf=shelf,
            shelf_guard_nm=spread.shelf_guard_nm,
            claim=claim,
            claim_guard_nm=spread.claim_guard_nm,
            beyond_nm=np.maximum(beyond_nm, 0, out=beyond_nm),
            by_final_rule=final,
            deciding=values.deciding_cells(guessed) if values.deciding else never,
            from_one_half=guessed,
        )


def _end(codes: Codes, beyond_nm: Lengths, readings: Lengths, rule: Rule) -> Flags:
    """Where the repeats are used up let the plain comparison decide, in place; say where it did."""
    final = readings >= rule.max_repeats
    final &= codes == CLOSE_CODE
    if rule.at_the_end != "plain":
        final[:] = False
    codes[final] = np.where(beyond_nm[final] <= 0, IN_CODE, OUT_CODE)
    return final
