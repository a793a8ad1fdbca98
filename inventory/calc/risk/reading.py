"""The chance that the verdict on one reading is wrong, given what is known of reading and maker.

Reading y with standard uncertainty u, true length before the reading N(m, s): afterwards the true length is
N(y·s²+m·u² over s²+u², s·u/√(s²+u²)), JCGM 106:2012 7.2 and annex A; without knowledge of the maker N(y, u).
Where u comes from a study with few degrees of freedom the bell around the reading is Student's t. All from
memory.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, stdtr

from inventory.calc.conformity import Lengths, Limits, Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.risk.quadrature import Floats, between, density, integral, turning
from inventory.calc.uncertainty import Combined


@dataclass(frozen=True, slots=True)
class MakerSpread:
    """What the maker's true lengths at a point are like: mean and SD (nm, SD above zero), a bell curve."""

    mean_nm: float
    sd_nm: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.mean_nm) and 0 < self.sd_nm < math.inf):
            fault = f"mean {self.mean_nm} nm and SD {self.sd_nm} nm"
            raise ImpossibleInput("spread of the maker", fault, "Give an SD above zero, or no spread at all")

    def explains(self, value_nm: int, *, u_nm: float) -> bool:
        """Whether a reading is one of those this maker's pieces give: within three SDs of maker and reading.

        One that is not may be a wrong label or a slip at the machine, of which the bell curve of what went
        well says nothing. Weighed by it, a piece far outside would come out as in tolerance.

        >>> spread = MakerSpread(330e6, 2e6)
        >>> spread.explains(336_000_000, u_nm=1e6), spread.explains(350_000_000, u_nm=1e6)
        (True, False)
        """
        return abs(value_nm - self.mean_nm) <= 3 * math.hypot(self.sd_nm, _checked(u_nm))


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of the true length after the reading: mean and SD (nm) of a bell curve."""

    mean_nm: float
    sd_nm: float


def belief(value_nm: int, *, u_nm: float, maker: MakerSpread | None = None) -> Belief:
    """The reading and what is known of the maker, weighed by how well each is known.

    >>> belief(336_000_000, u_nm=2e6, maker=MakerSpread(330e6, 2e6)).mean_nm
    333000000.0
    """
    _checked(u_nm)
    if maker is None:
        return Belief(float(value_nm), u_nm)
    weight = u_nm**2 / (u_nm**2 + maker.sd_nm**2)
    return Belief(
        value_nm + weight * (maker.mean_nm - value_nm), u_nm * maker.sd_nm / math.hypot(u_nm, maker.sd_nm)
    )


def probabilities_in(
    values_nm: Lengths,
    lower_nm: Lengths | int,
    upper_nm: Lengths | int,
    *,
    u_nm: Floats | float,
    maker: MakerSpread | None = None,
) -> Floats:
    """Chance that each true length is within its limits; arrays of one shape or single numbers.

    The uncertainties are taken as known (no degrees of freedom). Raises ImpossibleInput for a negative u.

    >>> probabilities_in(np.array([0, 6_000_000]), -6_000_000, 6_000_000, u_nm=2e6).round(4).tolist()
    [0.9973, 0.5]
    """
    u = np.asarray(u_nm, np.float64)
    if u.size and not (np.isfinite(u) & (u >= 0)).all():
        raise ImpossibleInput("uncertainty", "negative or without end", "Give zero or more")
    mean = np.asarray(values_nm, np.float64)
    if maker is not None:
        weight = u**2 / (u**2 + maker.sd_nm**2)
        mean, u = mean + weight * (maker.mean_nm - mean), u * maker.sd_nm / np.hypot(u, maker.sd_nm)
    inside = (mean >= lower_nm) & (mean <= upper_nm)
    sd = np.where(u > 0, u, 1.0)
    return np.where(u > 0, between((lower_nm - mean) / sd, (upper_nm - mean) / sd), inside * 1.0)


@dataclass(frozen=True, slots=True)
class VerdictRisk:
    """How sure a verdict is: chance that the piece is in tolerance, and that the verdict is wrong.

    ``wrong`` is None for "too close to call", which says nothing that could be wrong.
    """

    verdict: Verdict
    in_tolerance: float
    wrong: float | None

    @property
    def sentence(self) -> str:
        """In words for the people who act on it."""
        if self.wrong is None:
            return f"Too close to call: the chance that it is in tolerance is {percent(self.in_tolerance)}."
        called = "In tolerance" if self.verdict is Verdict.IN else "Out of tolerance"
        return f"{called}: the chance that this is wrong is {percent(self.wrong)}."


def risk_of_verdict(
    verdict: Verdict, value_nm: int, limits: Limits, *, sure: Combined, maker: MakerSpread | None = None
) -> VerdictRisk:
    """The specific risk of a verdict: the buyer's if it says in, the maker's if it says out.

    A maker whose spread does not explain the reading (see `MakerSpread.explains`) should not be handed over.

    >>> print(risk_of_verdict(Verdict.OUT, 340_000_000, Limits(324_000_000, 336_000_000),
    ...                       sure=Combined(2e6, None)).sentence)
    Out of tolerance: the chance that this is wrong is 2.3 %.
    """
    inside = _inside(value_nm, limits, sure, maker)
    wrong = {Verdict.IN: 1 - inside, Verdict.OUT: inside, Verdict.CLOSE: None}[verdict]
    return VerdictRisk(verdict, inside, wrong)


def percent(share: float) -> str:
    """A chance in words: one decimal, and never 0 or 100, for no reading makes anything certain.

    >>> percent(0.00004), percent(0.0228), percent(0.99999)
    ('less than 0.1 %', '2.3 %', 'more than 99.9 %')
    """
    if share < 0.001:
        return "less than 0.1 %"
    if share > 0.999:
        return "more than 99.9 %"
    return f"{100 * share:.1f} %"


def _inside(value_nm: int, limits: Limits, sure: Combined, maker: MakerSpread | None) -> float:
    u_nm = _checked(sure.u_nm)
    if sure.dof is None or u_nm == 0:
        found = probabilities_in(
            np.array([value_nm]), limits.lower_nm, limits.upper_nm, u_nm=u_nm, maker=maker
        )
        return float(found[0])
    if maker is None:
        below, above = (limits.lower_nm - value_nm) / u_nm, (limits.upper_nm - value_nm) / u_nm
        return float(stdtr(sure.dof, above) - stdtr(sure.dof, below))
    return _inside_by_t(value_nm, limits, u_nm, sure.dof, maker)


def _inside_by_t(value_nm: int, limits: Limits, u_nm: float, dof: int, maker: MakerSpread) -> float:
    """Student's t around the reading times the bell curve of the maker: no closed form."""
    scale = math.exp(float(gammaln((dof + 1) / 2) - gammaln(dof / 2))) / (u_nm * math.sqrt(dof * math.pi))

    def joint(x: Floats) -> Floats:
        likely = scale * (1 + ((x - value_nm) / u_nm) ** 2 / dof) ** (-(dof + 1) / 2)
        return likely * density(x, maker.mean_nm, maker.sd_nm)

    edges = [*turning(value_nm, u_nm), *turning(maker.mean_nm, maker.sd_nm)]
    low, high = maker.mean_nm - 12 * maker.sd_nm, maker.mean_nm + 12 * maker.sd_nm
    within = integral(joint, max(low, limits.lower_nm), min(high, limits.upper_nm), edges)
    return within / integral(joint, low, high, edges)


def _checked(u_nm: float) -> float:
    if not 0 <= u_nm < math.inf:
        raise ImpossibleInput("uncertainty", f"{u_nm} nm", "Give zero or more")
    return u_nm
