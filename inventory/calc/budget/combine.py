"""Parts into one uncertainty: combined u, effective degrees of freedom, coverage factor, U, shares."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scipy.special import ndtri, stdtrit

from inventory.calc.budget.component import Component
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import NM_PER_MM
from inventory.calc.uncertainty import effective_dof, welch_satterthwaite

TENTH_NM: Final = NM_PER_MM // 10


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the table: the part, what it adds (nm), and its share of the variance in percent."""

    component: Component
    contribution_nm: float
    percent: float

    @property
    def cancels(self) -> bool:
        """Whether the part falls out of this result, whatever its size."""
        return self.component.sensitivity == 0


@dataclass(frozen=True, slots=True)
class Budget:
    """The table and its bottom line: u and U = k·u (nm), `probability` covered, degrees of freedom.

    `dof` is cut down to a whole number, as k uses it; `dof_unrounded` is what Welch and Satterthwaite give.
    Both are None when every part that counts is known well.
    """

    rows: tuple[Row, ...]
    u_nm: float
    dof: int | None
    dof_unrounded: float | None
    k: float
    probability: float | None

    @property
    def expanded_nm(self) -> float:
        """U = k·u (nm), from the unrounded u."""
        return self.k * self.u_nm

    def shown_nm(self, *, step_nm: int = TENTH_NM) -> int:
        """U as printed (nm): rounded up to the step, so that what is printed is never too small."""
        return rounded_up_nm(self.expanded_nm, step_nm=step_nm)

    @property
    def largest(self) -> Row:
        """The part that adds most: where better measuring would pay."""
        return max(self.rows, key=lambda row: row.contribution_nm)


def combine(components: Sequence[Component], *, probability: float = 0.95, k: float | None = None) -> Budget:
    """Add the parts up: u² = Σ(c·u)², k = Student's t for `probability` (or a fixed `k`).

    The parts are taken as independent; what is common to two readings is one part with a sensitivity of 2.
    Raises ImpossibleInput without any part, and for a probability not between 0 and 1.

    >>> parts = [Component("tape", 3.0, "class II"), Component("repeat", 4.0, "study", dof=10)]
    >>> table = combine(parts)
    >>> table.u_nm, table.dof, [round(row.percent) for row in table.rows]
    (5.0, 24, [36, 64])
    """
    if not components:
        raise ImpossibleInput("budget", "without any part", "Give at least one")
    contributions = [component.contribution_nm for component in components]
    u_nm = math.hypot(*contributions)
    parts = [(component.contribution_nm, component.dof) for component in components]
    dof = effective_dof(parts)
    factor = coverage_factor(dof, probability=probability) if k is None else k
    if not 0 <= factor < math.inf:
        raise ImpossibleInput("coverage factor", factor, "Give zero or more")
    return Budget(
        rows=tuple(
            Row(component, nm, 100 * (nm / u_nm) ** 2 if u_nm else 0.0)
            for component, nm in zip(components, contributions, strict=True)
        ),
        u_nm=u_nm,
        dof=dof,
        dof_unrounded=welch_satterthwaite(parts),
        k=factor,
        probability=probability if k is None else None,
    )


def coverage_factor(dof: int | None, *, probability: float = 0.95) -> float:
    """How many standard uncertainties cover `probability`, both sides: t for `dof`, 1.96 for endless at 95 %.

    GUM G.3.2 and table G.2 (from memory). Raises ImpossibleInput for a probability not between 0 and 1.

    >>> round(coverage_factor(16), 2), round(coverage_factor(None), 2)
    (2.12, 1.96)
    """
    if not 0 < probability < 1:
        raise ImpossibleInput("coverage probability", probability, "Give a number between 0 and 1")
    if dof is not None and dof < 1:
        raise ImpossibleInput("degrees of freedom", dof, "Give 1 or more, or none if known well")
    upper = (1 + probability) / 2
    return float(ndtri(upper) if dof is None else stdtrit(dof, upper))


def rounded_up_nm(nm: float, *, step_nm: int = TENTH_NM) -> int:
    """An uncertainty rounded up to whole steps (nm); a step hit exactly stays (GUM 7.2.6, from memory).

    >>> rounded_up_nm(1_210_000.0), rounded_up_nm(1_200_000.0)
    (1300000, 1200000)
    """
    if step_nm < 1 or not 0 <= nm < math.inf:
        raise ImpossibleInput("uncertainty or step", f"{nm} nm and {step_nm} nm", "Give both above zero")
    # A millionth of a step is the noise of floats, not an uncertainty: 3·0.4 mm is 1.2, not 1.3.
    return math.ceil(nm / step_nm - 1e-6) * step_nm
