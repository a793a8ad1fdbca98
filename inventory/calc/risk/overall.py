"""What a guard band does over all pieces of a maker: shares called wrongly, before any is measured.

True lengths N(m, s), readings N(true, u): JCGM 106:2012 clause 9 (from memory). Its *global consumer's risk*
is the share of all pieces that is out and called in; its *global producer's risk* the share that is in and
not called in. We call three ways, so the share that is in and called *out* is told apart from the close ones.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from scipy.optimize import brentq

from inventory.calc.conformity import Limits
from inventory.calc.errors import ImpossibleInput
from inventory.calc.risk.quadrature import Floats, between, density, integral, turning
from inventory.calc.risk.reading import MakerSpread

_FAR = 9.0
"""Standard deviations past which a bell curve holds less than 1e-18."""

_SHARP_NM = 1e-6
"""Stands for an uncertainty of zero."""


@dataclass(frozen=True, slots=True)
class OverallRisk:
    """Shares of all pieces, 0 to 1."""

    conforming: float
    called_in: float
    called_out: float
    wrongly_in: float
    wrongly_out: float
    rightly_in: float

    @property
    def close(self) -> float:
        """Too close to call."""
        return max(0.0, 1 - self.called_in - self.called_out)

    @property
    def consumer_risk(self) -> float:
        """Out, and called in: the global consumer's risk of JCGM 106."""
        return self.wrongly_in

    @property
    def producer_risk(self) -> float:
        """In, and not called in: the global producer's risk of JCGM 106."""
        return self.conforming - self.rightly_in


def overall_risk(limits: Limits, *, u_nm: float, maker: MakerSpread, guard_nm: int) -> OverallRisk:
    """The shares under a guard band (nm; not negative) with standard uncertainty ``u_nm`` of a reading.

    >>> resistors = MakerSpread(1_500_000_000, 120_000)
    >>> found = overall_risk(Limits(1_499_800_000, 1_500_200_000), u_nm=40_000.0, maker=resistors,
    ...                      guard_nm=20_000)
    >>> round(found.consumer_risk, 4), round(found.producer_risk, 4)
    (0.0099, 0.069)
    """
    if guard_nm < 0:
        raise ImpossibleInput("guard band", f"{guard_nm} nm", "Give zero or more")
    return _overall(limits, u_nm, maker, float(guard_nm))


def _overall(limits: Limits, u_nm: float, maker: MakerSpread, guard: float) -> OverallRisk:
    if not 0 <= u_nm < math.inf:
        raise ImpossibleInput("uncertainty", f"{u_nm} nm", "Give zero or more")
    u = max(u_nm, _SHARP_NM)
    lower, upper = float(limits.lower_nm), float(limits.upper_nm)
    low, high = maker.mean_nm - _FAR * maker.sd_nm, maker.mean_nm + _FAR * maker.sd_nm
    turns = (lower + guard, upper - guard, lower - guard, upper + guard)
    edges = [*turning(maker.mean_nm, maker.sd_nm), *(edge for at in turns for edge in turning(at, u))]

    def read_in(x: Floats) -> Floats:
        return between((lower + guard - x) / u, (upper - guard - x) / u)

    def read_out(x: Floats) -> Floats:
        return between(-math.inf, (lower - guard - x) / u) + between((upper + guard - x) / u, math.inf)

    def share(called: Callable[[Floats], Floats], start: float, end: float) -> float:
        return integral(
            lambda x: density(x, maker.mean_nm, maker.sd_nm) * called(x),
            max(low, start),
            min(high, end),
            edges,
        )

    wrongly_in = share(read_in, low, lower) + share(read_in, upper, high)
    wrongly_out = share(read_out, lower, upper)
    rightly_in = share(read_in, lower, upper)
    rightly_out = share(read_out, low, lower) + share(read_out, upper, high)
    conforming = float(between((lower - maker.mean_nm) / maker.sd_nm, (upper - maker.mean_nm) / maker.sd_nm))
    return OverallRisk(
        conforming=conforming,
        called_in=wrongly_in + rightly_in,
        called_out=wrongly_out + rightly_out,
        wrongly_in=wrongly_in,
        wrongly_out=wrongly_out,
        rightly_in=rightly_in,
    )


def guard_for_wrongly_in(risk: float, limits: Limits, *, u_nm: float, maker: MakerSpread) -> int:
    """The guard band (nm, rounded up) that lets at most ``risk`` of all pieces be out and called in.

    At most half the width of the limits: then nothing is called in.
    """
    half = (limits.upper_nm - limits.lower_nm) / 2
    return _guard_for(risk, lambda w: _overall(limits, u_nm, maker, w).wrongly_in, half)


def guard_for_wrongly_out(risk: float, limits: Limits, *, u_nm: float, maker: MakerSpread) -> int:
    """The guard band (nm, rounded up) that lets at most ``risk`` of all pieces be in and called out."""
    return _guard_for(risk, lambda w: _overall(limits, u_nm, maker, w).wrongly_out, _FAR * u_nm)


def _guard_for(risk: float, share: Callable[[float], float], widest: float) -> int:
    if not 0 < risk < 1:
        raise ImpossibleInput("risk", risk, "Give a share above 0 and below 1, such as 0.01")
    if share(0.0) <= risk:
        return 0
    if share(widest) >= risk:
        return math.ceil(widest)
    return math.ceil(brentq(lambda w: share(w) - risk, 0.0, widest, xtol=0.01))
