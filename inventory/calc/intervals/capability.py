"""How the spread of what a maker makes compares with the limits: Cp, Cpk, Cpm, each with its interval.

Cp = (upper − lower) / 6s looks at the spread alone; Cpl and Cpu take the place of the mean along, each to
its own limit, and Cpk is the worse of them; Cpm counts the distance from a target as spread. The SD is the
one of the sample handed over: say with any Cpk which estimator that was. Reading error is in it too, so a
capability from readings is never flattered by it.

Intervals: Cp by the chi-square of n − 1, exact for a bell curve; Cpk, Cpl and Cpu by the approximation of
Bissell (1990); Cpm by the chi-square with n(1 + d²)/(1 + 2d²) degrees of freedom, d the distance from the
target in SDs (Boyles 1991 squares the numerator's bracket; the simpler form is what is in common use). From
memory.
"""

import math
from dataclasses import dataclass

from scipy.special import chdtri, ndtri

from inventory.calc.errors import ImpossibleInput
from inventory.calc.intervals.normal import Interval, Sample, checked_share


@dataclass(frozen=True, slots=True)
class Capability:
    """The indices and their intervals; the intervals of ``cpl`` and ``cpu`` are one-sided bounds each way."""

    cp: float
    cpl: float
    cpu: float
    cpk: float
    cpm: float
    cp_interval: Interval
    cpl_interval: Interval
    cpu_interval: Interval
    cpk_interval: Interval
    cpm_interval: Interval


def capability(
    sample: Sample, *, lower: float, upper: float, target: float | None = None, confidence: float = 0.95
) -> Capability:
    """Compare a sample with its limits (all in one unit); ``target`` None: the middle of the limits.

    ``confidence`` is that of the two-sided intervals of Cp, Cpk and Cpm, and of each bound of Cpl and Cpu.
    Raises ImpossibleInput for limits upside down or a sample without any spread.

    >>> found = capability(Sample(50, 16.0, 2.0), lower=8.0, upper=20.0)
    >>> found.cp, round(found.cpk, 3)
    (1.0, 0.667)
    """
    if not lower < upper:
        raise ImpossibleInput("lower limit", f"{lower}, not below the upper limit {upper}", "Swap the two")
    if sample.sd == 0:
        raise ImpossibleInput("SD", 0, "Equal values say nothing of a spread: read finer, or more pieces")
    tail = (1 - checked_share("confidence", confidence)) / 2
    goal = (lower + upper) / 2 if target is None else target
    cp = (upper - lower) / (6 * sample.sd)
    cpl, cpu = (sample.mean - lower) / (3 * sample.sd), (upper - sample.mean) / (3 * sample.sd)
    off = (sample.mean - goal) / sample.sd
    cpm = cp / math.sqrt(1 + off * off)
    cpm_dof = sample.n * (1 + off * off) / (1 + 2 * off * off)
    return Capability(
        cp=cp,
        cpl=cpl,
        cpu=cpu,
        cpk=min(cpl, cpu),
        cpm=cpm,
        cp_interval=_by_chi_square(cp, sample.n - 1, tail),
        cpl_interval=_bissell(cpl, sample.n, 2 * tail),
        cpu_interval=_bissell(cpu, sample.n, 2 * tail),
        cpk_interval=_bissell(min(cpl, cpu), sample.n, tail),
        cpm_interval=_by_chi_square(cpm, cpm_dof, tail),
    )


def _by_chi_square(index: float, dof: float, tail: float) -> Interval:
    # chdtri takes the upper tail.
    return Interval(*(index * math.sqrt(float(chdtri(dof, p)) / dof) for p in (1 - tail, tail)))


def _bissell(index: float, n: int, tail: float) -> Interval:
    reach = -float(ndtri(tail)) * math.sqrt(1 / (9 * n) + index * index / (2 * (n - 1)))
    return Interval(index - reach, index + reach)
