"""Sums of mean squares: what a variance component is estimated by, and how well.

A component is a sum Σ c·MS with some c below zero, for a person's variance is what people differ *beyond*
their repeats. So an estimate can come out below zero; it is kept as it is, and used as zero.

Degrees of freedom: Satterthwaite, estimate² / Σ((c·MS)²/ν). Confidence limits: for one mean square the exact
chi-square limits; for sums with c above zero Graybill and Wang (1980); with some below zero Ting and others
(1990), both known as modified large sample (MLS) and recommended for these studies by Burdick, Borror and
Montgomery (2003, 2005). From memory; held to their promise by simulation in the tests.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scipy.special import chdtri, fdtri


@dataclass(frozen=True, slots=True)
class MeanSquare:
    """A mean square (nm²) and its degrees of freedom; the name tells two of equal value apart."""

    value_nm2: float
    dof: int
    name: str = ""


@dataclass(frozen=True, slots=True)
class Sum:
    """Σ c·MS over independent mean squares, as pairs of c and mean square."""

    terms: tuple[tuple[float, MeanSquare], ...]

    @classmethod
    def of(cls, shares: Mapping[MeanSquare, float]) -> "Sum":
        """The sum with these coefficients, those of zero left out."""
        return cls(tuple((c, square) for square, c in shares.items() if c))

    def __add__(self, other: "Sum") -> "Sum":
        shares: dict[MeanSquare, float] = {}
        for c, square in (*self.terms, *other.terms):
            shares[square] = shares.get(square, 0.0) + c
        # What cancels in the formula cancels here too, not up to 1e-17.
        return Sum.of({square: c for square, c in shares.items() if abs(c) > 1e-12})

    @property
    def estimate_nm2(self) -> float:
        """The estimate as it comes out (nm²), below zero or not."""
        return math.fsum(c * square.value_nm2 for c, square in self.terms)

    @property
    def dof(self) -> float | None:
        """Satterthwaite's degrees of freedom; None where the estimate is not above zero."""
        doubt = math.fsum((c * square.value_nm2) ** 2 / square.dof for c, square in self.terms)
        estimate = self.estimate_nm2
        return estimate**2 / doubt if estimate > 0 and doubt else None

    def limits_nm2(self, confidence: float) -> tuple[float, float]:
        """Confidence limits of the variance (nm², not below zero), half of 1 − `confidence` on each side."""
        alpha = (1 - confidence) / 2
        plus = [(c, square) for c, square in self.terms if c > 0]
        minus = [(-c, square) for c, square in self.terms if c < 0]
        estimate = self.estimate_nm2
        if estimate < 0:
            # A mean square small by luck would pull its own upper limit down to nothing; a variance is never
            # below zero, so the upper limit is that of the same study with an estimate of zero.
            plus = [(c, replace(s, value_nm2=s.value_nm2 - estimate / c / len(plus))) for c, s in plus]
            return 0.0, math.sqrt(_spread(plus, minus, alpha=alpha, downwards=False))
        below = _spread(plus, minus, alpha=alpha, downwards=True)
        above = _spread(plus, minus, alpha=alpha, downwards=False)
        return max(0.0, estimate - math.sqrt(below)), estimate + math.sqrt(above)


_Terms = Sequence[tuple[float, MeanSquare]]


def _g(dof: int, alpha: float) -> float:
    return 1 - dof / float(chdtri(dof, alpha))


def _h(dof: int, alpha: float) -> float:
    return dof / float(chdtri(dof, 1 - alpha)) - 1


def _spread(plus: _Terms, minus: _Terms, *, alpha: float, downwards: bool) -> float:
    """How far the limit lies from the estimate, squared."""
    # Downwards the terms above zero may be too large (G) and those below too small (H); upwards the reverse.
    of_plus, of_minus = (_g, _h) if downwards else (_h, _g)
    total = sum((of_plus(square.dof, alpha) * c * square.value_nm2) ** 2 for c, square in plus)
    total += sum((of_minus(square.dof, alpha) * c * square.value_nm2) ** 2 for c, square in minus)
    for (c, one), (d, other) in itertools.product(plus, minus):
        ratio = float(fdtri(one.dof, other.dof, 1 - alpha if downwards else alpha))
        apart = (ratio - 1) ** 2 - (of_plus(one.dof, alpha) * ratio) ** 2 - of_minus(other.dof, alpha) ** 2
        total += apart / ratio * c * d * one.value_nm2 * other.value_nm2
    if plus and minus:
        total += _same_sign(plus if downwards else minus, alpha=alpha)
    return max(0.0, total)


def _same_sign(terms: _Terms, *, alpha: float) -> float:
    """The terms between mean squares of the same sign in a sum of both signs (Ting and others)."""
    total = 0.0
    for (c, one), (d, other) in itertools.combinations(terms, 2):
        n, m = one.dof, other.dof
        together = _g(n + m, alpha) ** 2 * (n + m) ** 2 / (n * m)
        apart = together - _g(n, alpha) ** 2 * n / m - _g(m, alpha) ** 2 * m / n
        total += apart / (len(terms) - 1) * c * d * one.value_nm2 * other.value_nm2
    return total
