"""Plans and rules for the calc tests: valid with no arguments, and drawn at random for properties."""

from dataclasses import replace
from decimal import Decimal
from typing import Literal

from hypothesis import strategies as st

from inventory.calc.conformity import DEFAULT_CLAIM, DEFAULT_SHELF, Rule
from inventory.calc.plan import PointPlan
from inventory.calc.symmetry import PairLimit
from inventory.calc.uncertainty import ReadingError

MM = 1_000_000
INCH = 25_400_000


def half(
    code: str = "WA",
    *,
    nominal_nm: int = 330 * MM,
    tolerance_nm: int = 6 * MM,
    basis: Literal["half", "full"] = "half",
    paired: bool = True,
    pair_limit: PairLimit | None = None,
    sd_nm: int = MM,
    person_sd_nm: int = 0,
) -> PointPlan:
    """A half girth, ±6 mm per half unless told otherwise."""
    return PointPlan(
        code=code,
        kind="half",
        paired=paired,
        nominal_nm=nominal_nm,
        minus_nm=tolerance_nm,
        plus_nm=tolerance_nm,
        basis=basis,
        pair_limit=pair_limit,
        error=ReadingError(sd_nm, person_sd_nm),
    )


def length(
    code: str = "CF",
    *,
    nominal_nm: int = 320 * MM,
    minus_nm: int = 5 * MM,
    plus_nm: int = 5 * MM,
    paired: bool = False,
    pair_limit: PairLimit | None = None,
    sd_nm: int = 500_000,
    person_sd_nm: int = 0,
) -> PointPlan:
    """A length, single and ±5 mm unless told otherwise."""
    return PointPlan(
        code=code,
        kind="length",
        paired=paired,
        nominal_nm=nominal_nm,
        minus_nm=minus_nm,
        plus_nm=plus_nm,
        basis="half",
        pair_limit=pair_limit,
        error=ReadingError(sd_nm, person_sd_nm),
    )


# Coarse steps make values land exactly on limits and guard bands; fine ones leave no nanometre untried.
small_lengths = st.one_of(
    st.integers(0, 8).map(lambda n: n * MM // 2), st.integers(0, 12 * MM), st.integers(0, 8).map(lambda n: n)
)
spreads = st.one_of(st.integers(0, 4).map(lambda n: n * MM // 2), st.integers(0, 4 * MM))
dofs = st.none() | st.integers(1, 40)
errors = st.builds(ReadingError, spreads, spreads, repeat_dof=dofs, person_dof=dofs)


@st.composite
def pair_limits(draw: st.DrawFn) -> PairLimit:
    """A left-right limit, with or without a favourable allowance."""
    limit_nm = draw(small_lengths)
    if draw(st.booleans()):
        return PairLimit(limit_nm)
    side: Literal["plus", "minus"] = draw(st.sampled_from(("plus", "minus")))
    return PairLimit(limit_nm, limit_nm + draw(small_lengths), side)


@st.composite
def point_plans(draw: st.DrawFn, code: str = "P") -> PointPlan:
    """Any valid plan near 100 mm."""
    paired = draw(st.booleans())
    return PointPlan(
        code=code,
        kind=draw(st.sampled_from(("half", "full", "length", "placement"))),
        paired=paired,
        nominal_nm=100 * MM + draw(small_lengths),
        minus_nm=draw(small_lengths),
        plus_nm=draw(small_lengths),
        basis=draw(st.sampled_from(("half", "full"))),
        pair_limit=draw(st.none() | pair_limits()) if paired else None,
        error=draw(errors),
    )


@st.composite
def plan_lists(draw: st.DrawFn, *, least: int = 0) -> list[PointPlan]:
    """Up to three plans with codes of their own."""
    return [draw(point_plans(code=f"P{n}")) for n in range(draw(st.integers(least, 3)))]


@st.composite
def rule_pairs(draw: st.DrawFn) -> tuple[Rule, Rule]:
    """A shelf rule and a claim rule: the defaults, or others."""
    if draw(st.booleans()):
        return DEFAULT_SHELF, DEFAULT_CLAIM
    if draw(st.booleans()):
        shelf = replace(DEFAULT_SHELF, code="a-shelf-multiple", kind="multiple", risk=None)
        return shelf, replace(DEFAULT_CLAIM, code="a-multiple", kind="multiple")
    multipliers = st.decimals(0, 3, places=3)
    shelf = Rule(
        code="a-shelf-rule",
        version=2,
        purpose="shelf",
        multiplier=draw(multipliers),
        max_repeats=draw(st.integers(1, 4)),
        at_the_end=draw(st.sampled_from(("plain", "stays_close"))),
    )
    claim = Rule(
        code="a-claim-rule",
        version=2,
        purpose="claim",
        multiplier=draw(multipliers),
        max_repeats=draw(st.integers(1, 4)),
        at_the_end="stays_close",
    )
    return shelf, claim


PLAIN = Rule(code="plain", version=1, purpose="shelf", multiplier=Decimal(0))
"""No guard band: the plain comparison."""
