"""From a value, its limits and its uncertainty to one of three verdicts.

At a tolerance limit a plain comparison is a coin toss. So each limit gets a guard band of width
w = multiplier × u on either side: inside by more than the band is *in tolerance*, outside by more than
the band is *out of tolerance*, within the band is *too close to call* and asks for a repeat. The mean of
repeats has a smaller u and so a narrower band. After ``max_repeats`` readings the rule fixed in advance
says how to end: compare plainly (what we accept on the shelf), or stay too close to call (what we claim
against a maker: never claim what is not proved).

Whoever makes the statement bears the uncertainty: that is the principle of ISO 14253-1 and of JCGM
106:2012 (guard band w = r·U); the default 1.645·u is that of ISO 14253-1:2017, and w = U = 2·u is the
rule of ILAC-G8:2009. All of these from memory; the clause texts were not seen.

Everything here is exact: values, limits and guard bands are whole nanometres, a value exactly at a limit
with no guard band is in tolerance, and the unit a length was typed in plays no part.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from inventory.calc.conformity.rules import Rule, guard_nm
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit, show_exact

Codes = npt.NDArray[np.int8]
Lengths = npt.NDArray[np.int64]

IN_CODE = 0
CLOSE_CODE = 1
OUT_CODE = 2

# 64 Ki lengths are half a MiB: the working arrays of one slice stay in the processor's cache.
_SLICE = 65_536


class Verdict(StrEnum):
    """In tolerance, out of tolerance, or too close to call."""

    IN = "in"
    OUT = "out"
    CLOSE = "close"


VERDICT_OF_CODE = (Verdict.IN, Verdict.CLOSE, Verdict.OUT)
_CODE_OF_VERDICT = {Verdict.IN: IN_CODE, Verdict.CLOSE: CLOSE_CODE, Verdict.OUT: OUT_CODE}


def code_of(verdict: Verdict) -> int:
    """The small number that stands for a verdict in arrays; the worse the verdict, the larger."""
    return _CODE_OF_VERDICT[verdict]


@dataclass(frozen=True, slots=True)
class Limits:
    """The lowest and the highest value (nm) that are still in tolerance."""

    lower_nm: int
    upper_nm: int

    def __post_init__(self) -> None:
        if self.lower_nm > self.upper_nm:
            raise ImpossibleInput(
                "lower limit",
                f"{show_exact(self.lower_nm, unit=Unit.MM)}, "
                f"above the upper limit {show_exact(self.upper_nm, unit=Unit.MM)}",
                "Swap the two, or correct the tolerance",
            )


@dataclass(frozen=True, slots=True)
class Decision:
    """A verdict with the guard band (nm) it was reached with.

    ``beyond_nm`` is how far the value lies outside its limits (0 when inside, never negative);
    ``by_final_rule`` says that the repeats were used up and the plain comparison decided.
    """

    verdict: Verdict
    guard_nm: int
    beyond_nm: int
    by_final_rule: bool


def decide(
    value_nm: int, limits: Limits, *, u_nm: float, rule: Rule, readings: int = 1, dof: int | None = None
) -> Decision:
    """Judge one value (nm) with standard uncertainty ``u_nm`` that is the mean of ``readings`` readings.

    ``dof``: the degrees of freedom the uncertainty is known with; None: known well.

    >>> from inventory.calc.conformity import DEFAULT_SHELF
    >>> limits = Limits(324_000_000, 336_000_000)
    >>> decide(337_000_000, limits, u_nm=2_000_000.0, rule=DEFAULT_SHELF).verdict.value
    'close'
    >>> decide(337_000_000, limits, u_nm=500_000.0, rule=DEFAULT_SHELF).verdict.value
    'out'
    """
    guard = guard_nm(u_nm, rule, dof=dof)
    beyond = max(limits.lower_nm - value_nm, value_nm - limits.upper_nm)
    if beyond <= -guard:
        verdict = Verdict.IN
    elif beyond > guard:
        verdict = Verdict.OUT
    else:
        verdict = Verdict.CLOSE
    final = verdict is Verdict.CLOSE and rule.at_the_end == "plain" and readings >= rule.max_repeats
    if final:
        verdict = Verdict.IN if beyond <= 0 else Verdict.OUT
    return Decision(verdict, guard_nm=guard, beyond_nm=max(beyond, 0), by_final_rule=final)


def can_be_judged(limits: Limits, u_nm: float, rule: Rule, *, dof: int | None = None) -> bool:
    """Whether any value at all could be called in tolerance before the repeats are used up.

    >>> from inventory.calc.conformity import DEFAULT_SHELF
    >>> can_be_judged(Limits(-3_000_000, 3_000_000), 2_000_000.0, DEFAULT_SHELF)
    False
    """
    return 2 * guard_nm(u_nm, rule, dof=dof) <= limits.upper_nm - limits.lower_nm


def decide_many(
    value_nm: Lengths, lower_nm: Lengths | int, upper_nm: Lengths | int, guard_nm: Lengths | int
) -> Codes:
    """Judge many values at once; the same answers as :func:`decide` before the repeats are used up.

    Values are int64 nanometres; limits and guard bands may be arrays of the same shape or single
    numbers. Returns int8: 0 in, 1 too close to call, 2 out. Refuses anything that is not whole
    nanometres (there is no NaN here), a negative guard band and a lower limit above the upper one.

    >>> decide_many(np.array([330, 337, 341]), 324, 336, 3).tolist()
    [0, 1, 2]
    """
    value = _whole(value_nm, "value")
    lower, upper, guard = (
        _whole(bound, thing)
        for bound, thing in ((lower_nm, "lower limit"), (upper_nm, "upper limit"), (guard_nm, "guard band"))
    )
    if guard.size and guard.min() < 0:
        raise ImpossibleInput(
            "guard band", f"{show_exact(int(guard.min()), unit=Unit.MM)}, below zero", "Give zero or more"
        )
    if (lower > upper).any():
        raise ImpossibleInput("lower limit", "above the upper limit", "Swap the two")
    codes = np.empty(value.shape, np.int8)
    if value.ndim == 1:
        for start in range(0, len(value), _SLICE):
            part = slice(start, start + _SLICE)
            _grade(codes[part], value[part], *(b[part] if b.ndim else b for b in (lower, upper, guard)))
    else:
        _grade(codes, value, lower, upper, guard)
    return codes


def _grade(codes: Codes, value: Lengths, lower: Lengths, upper: Lengths, guard: Lengths) -> None:
    # An out value is also a not-in value (guard >= 0), so the two 0/1 arrays add up to the code.
    not_in = value < lower + guard
    not_in |= value > upper - guard
    out = value < lower - guard
    out |= value > upper + guard
    np.add(not_in.view(np.int8), out.view(np.int8), out=codes)


def _whole(numbers: Lengths | int, thing: str) -> Lengths:
    array = np.asarray(numbers)
    if array.dtype.kind not in "iu":
        raise ImpossibleInput(
            thing, f"of type {array.dtype}, not whole nanometres", "Give whole nanometres (int64)"
        )
    return array.astype(np.int64, copy=False)


def probability_in(value_nm: int, limits: Limits, *, u_nm: float) -> float:
    """Probability that the true length is within the limits, for a bell-shaped error around the value.

    Φ((upper − y)/u) − Φ((lower − y)/u), the conformance probability of JCGM 106:2012 7.4 (from memory).
    Read the other way round it is the chance that a true length ``value_nm`` gives a reading inside.

    >>> round(probability_in(7_000_000, Limits(-6_000_000, 6_000_000), u_nm=2_000_000.0), 4)
    0.3085
    """
    if not 0 <= u_nm < math.inf:
        raise ImpossibleInput("uncertainty", f"{u_nm} nm", "Give zero or more")
    below_nm, above_nm = value_nm - limits.lower_nm, limits.upper_nm - value_nm
    if u_nm == 0:
        return 1.0 if below_nm >= 0 and above_nm >= 0 else 0.0
    if min(below_nm, above_nm) < 0:
        # Far outside both terms are nearly 1: subtract the two small tails instead.
        near, far = sorted((-below_nm, -above_nm), reverse=True)
        return _tail(near / u_nm) - _tail(-far / u_nm)
    return 1.0 - _tail(below_nm / u_nm) - _tail(above_nm / u_nm)


def _tail(z: float) -> float:
    """Share of a standard bell curve above z."""
    return math.erfc(z / math.sqrt(2)) / 2


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The verdict that decides for the whole: out before too close to call before in.

    >>> worst([Verdict.IN, Verdict.CLOSE, Verdict.IN]).value
    'close'
    """
    found = max(verdicts, key=code_of, default=None)
    if found is None:
        raise ImpossibleInput("number of verdicts", 0, "Judge at least one point first")
    return found
