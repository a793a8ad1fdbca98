"""Specific and global risk: second roads, simulation, limits of the formulas, and what must always hold."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from inventory.calc import conformity, risk
from inventory.calc.conformity import Limits, Verdict
from inventory.calc.errors import ImpossibleInput
from inventory.calc.risk import MakerSpread
from inventory.calc.uncertainty import Combined
from tests.calc.plans import MM
from tests.closeness import same_float

SIX = Limits(-6 * MM, 6 * MM)
values = st.integers(-15 * MM, 15 * MM)
spreads = st.floats(0.05 * MM, 6 * MM)
makers = st.builds(MakerSpread, st.floats(-6 * MM, 6 * MM), spreads)


@given(values, spreads)
def test_without_knowledge_of_the_maker_it_is_the_plain_probability(value: int, u_nm: float) -> None:
    found = risk.risk_of_verdict(Verdict.IN, value, SIX, sure=Combined(u_nm, None))
    assert abs(found.in_tolerance - conformity.probability_in(value, SIX, u_nm=u_nm)) < 1e-12
    assert found.wrong == 1 - found.in_tolerance


@settings(max_examples=50)
@given(values, spreads, makers)
def test_knowledge_of_the_maker_is_weighed_as_bayes_says(value: int, u_nm: float, maker: MakerSpread) -> None:
    """Second road: the product of the two bell curves, added up on a fine grid."""
    believed = risk.belief(value, u_nm=u_nm, maker=maker)
    x = believed.mean_nm + believed.sd_nm * np.linspace(-9, 9, 4001)
    weight = np.exp(-(((x - value) / u_nm) ** 2) / 2 - ((x - maker.mean_nm) / maker.sd_nm) ** 2 / 2 + 300)
    weight = weight / weight.sum() if weight.sum() > 0 else weight
    if weight.sum() > 0 and np.isfinite(weight).all():
        assert abs((weight * x).sum() - believed.mean_nm) < 1e-6 * believed.sd_nm
        assert math.isclose(
            math.sqrt((weight * (x - believed.mean_nm) ** 2).sum()), believed.sd_nm, rel_tol=1e-6
        )


@given(values, spreads, makers)
def test_belief_lies_between_reading_and_maker_and_is_surer_than_both(
    value: int, u_nm: float, maker: MakerSpread
) -> None:
    believed = risk.belief(value, u_nm=u_nm, maker=maker)
    low, high = sorted((float(value), maker.mean_nm))
    assert low - 1 <= believed.mean_nm <= high + 1
    assert believed.sd_nm <= min(u_nm, maker.sd_nm) * (1 + 1e-12)


@pytest.mark.parametrize("dof", [1, 3, 9, 60])
@pytest.mark.parametrize("value", [0, 5 * MM, 9 * MM])
def test_few_degrees_of_freedom_take_students_t_with_and_without_a_maker(dof: int, value: int) -> None:
    """Second road: scipy's t and its adaptive integral."""
    sure, maker = Combined(2.0 * MM, dof), MakerSpread(1.0 * MM, 3.0 * MM)
    alone = risk.risk_of_verdict(Verdict.OUT, value, SIX, sure=sure)
    likely = stats.t(dof, loc=value / MM, scale=2.0)
    assert alone.wrong is not None
    assert abs(alone.wrong - (likely.cdf(6) - likely.cdf(-6))) < 1e-10

    def joint(x: float) -> float:
        return float(likely.pdf(x) * stats.norm.pdf(x, 1, 3))

    within, _ = integrate.quad(joint, -6, 6, epsabs=1e-13, points=[value / MM] if value < 6 * MM else None)
    both, _ = integrate.quad(joint, -35, 37, epsabs=1e-13, points=[value / MM, 1], limit=200)
    with_maker = risk.risk_of_verdict(Verdict.OUT, value, SIX, sure=sure, maker=maker)
    assert with_maker.wrong is not None
    assert abs(with_maker.wrong - within / both) < 1e-8


def test_many_degrees_of_freedom_are_the_bell_curve() -> None:
    maker = MakerSpread(0.0, 3.0 * MM)
    few, none = (
        risk.risk_of_verdict(Verdict.IN, 4 * MM, SIX, sure=Combined(2.0 * MM, dof), maker=maker).in_tolerance
        for dof in (10**6, None)
    )
    assert abs(few - none) < 1e-6


def test_a_column_of_readings_is_the_same_as_one_by_one() -> None:
    column = np.arange(-12, 13) * MM
    maker = MakerSpread(1.0 * MM, 2.0 * MM)
    many = risk.probabilities_in(column, -6 * MM, 6 * MM, u_nm=1.5 * MM, maker=maker)
    one_by_one = [
        risk.risk_of_verdict(
            Verdict.IN, int(value), SIX, sure=Combined(1.5 * MM, None), maker=maker
        ).in_tolerance
        for value in column
    ]
    assert many.tolist() == one_by_one


def test_a_reading_without_error_is_certain() -> None:
    found = risk.probabilities_in(np.array([6 * MM, 6 * MM + 1]), -6 * MM, 6 * MM, u_nm=0.0)
    assert found.tolist() == [1.0, 0.0]


def test_a_verdict_says_in_words_how_sure_it_is() -> None:
    sure = Combined(2.0 * MM, None)
    assert risk.risk_of_verdict(Verdict.CLOSE, 6 * MM, SIX, sure=sure).sentence == (
        "Too close to call: the chance that it is in tolerance is 50.0 %."
    )
    assert risk.risk_of_verdict(Verdict.IN, 0, Limits(-20 * MM, 20 * MM), sure=sure).sentence == (
        "In tolerance: the chance that this is wrong is less than 0.1 %."
    )


@settings(max_examples=40)
@given(makers, spreads, st.integers(0, 6 * MM))
def test_the_shares_of_all_pieces_agree_with_the_two_dimensional_normal(
    maker: MakerSpread, u_nm: float, guard: int
) -> None:
    """Second road: corners of scipy's bivariate normal of true length and reading."""
    found = risk.overall_risk(SIX, u_nm=u_nm, maker=maker, guard_nm=guard)
    s2, m = maker.sd_nm**2, maker.mean_nm
    # In units of the spread, so that the matrix is near one.
    scale = maker.sd_nm
    both = stats.multivariate_normal(
        [m / scale, m / scale], np.array([[s2, s2], [s2, s2 + u_nm**2]]) / scale**2, allow_singular=True
    )

    def box(x_low: float, x_high: float, y_low: float, y_high: float) -> float:
        corners = [(x_high, y_high, 1), (x_low, y_high, -1), (x_high, y_low, -1), (x_low, y_low, 1)]
        return float(sum(sign * both.cdf([x / scale, y / scale]) for x, y, sign in corners))

    t, a, far = 6.0 * MM, 6.0 * MM - guard, 400.0 * MM
    assert abs(found.rightly_in - box(-t, t, -a, a)) < 2e-8
    wrongly = box(t, far, -a, a) + box(-far, -t, -a, a)
    assert abs(found.wrongly_in - wrongly) < 2e-8
    out = box(-t, t, 6.0 * MM + guard, far) + box(-t, t, -far, -6.0 * MM - guard)
    assert abs(found.wrongly_out - out) < 2e-8
    plain = stats.norm(m, math.hypot(maker.sd_nm, u_nm))
    assert abs(found.called_in - (plain.cdf(a) - plain.cdf(-a))) < 1e-10
    assert (
        abs(found.conforming - (stats.norm.cdf((t - m) / scale) - stats.norm.cdf((-t - m) / scale))) < 1e-10
    )


@given(makers, spreads, st.integers(0, 5 * MM))
def test_a_wider_guard_band_wrongs_nobody_more_and_leaves_more_open(
    maker: MakerSpread, u_nm: float, guard: int
) -> None:
    one = risk.overall_risk(SIX, u_nm=u_nm, maker=maker, guard_nm=guard)
    wider = risk.overall_risk(SIX, u_nm=u_nm, maker=maker, guard_nm=guard + MM)
    assert wider.wrongly_in <= one.wrongly_in + 1e-12
    assert wider.wrongly_out <= one.wrongly_out + 1e-12
    assert wider.close >= one.close - 1e-12
    assert wider.producer_risk >= one.producer_risk - 1e-12


def test_a_reading_without_error_wrongs_nobody() -> None:
    found = risk.overall_risk(SIX, u_nm=0.0, maker=MakerSpread(1.0 * MM, 4.0 * MM), guard_nm=0)
    assert found.wrongly_in < 1e-12
    assert found.wrongly_out < 1e-12
    assert same_float(round(found.called_in, 10), round(found.conforming, 10))


@settings(max_examples=30)
@given(makers, st.floats(0.5 * MM, 4 * MM), st.floats(0.0005, 0.05))
def test_the_guard_band_for_a_wanted_risk_gives_it_and_a_narrower_one_does_not(
    maker: MakerSpread, u_nm: float, wanted: float
) -> None:
    guard = risk.guard_for_wrongly_in(wanted, SIX, u_nm=u_nm, maker=maker)
    assert risk.overall_risk(SIX, u_nm=u_nm, maker=maker, guard_nm=guard).wrongly_in <= wanted
    if guard > 100:
        less = risk.overall_risk(SIX, u_nm=u_nm, maker=maker, guard_nm=guard - 100)
        assert less.wrongly_in > wanted
    out = risk.guard_for_wrongly_out(wanted, SIX, u_nm=u_nm, maker=maker)
    assert risk.overall_risk(SIX, u_nm=u_nm, maker=maker, guard_nm=out).wrongly_out <= wanted


def test_impossible_questions_are_refused_by_name_and_value() -> None:
    maker = MakerSpread(0.0, 1.0)
    with pytest.raises(ImpossibleInput, match=r"Spread of the maker is mean 0\.0 nm and SD 0\.0 nm"):
        MakerSpread(0.0, 0.0)
    with pytest.raises(ImpossibleInput, match="Guard band is -1 nm"):
        risk.overall_risk(SIX, u_nm=1.0, maker=maker, guard_nm=-1)
    with pytest.raises(ImpossibleInput, match="Uncertainty is nan nm"):
        risk.overall_risk(SIX, u_nm=math.nan, maker=maker, guard_nm=0)
    with pytest.raises(ImpossibleInput, match="Uncertainty"):
        risk.probabilities_in(np.array([1]), 0, 1, u_nm=-1.0)
    with pytest.raises(ImpossibleInput, match=r"Uncertainty is -1\.0 nm"):
        risk.belief(0, u_nm=-1.0)
    with pytest.raises(ImpossibleInput, match=r"Risk is 1\.5"):
        risk.guard_for_wrongly_in(1.5, SIX, u_nm=1.0, maker=maker)


@pytest.mark.parametrize("dof", [3, None])
def test_a_maker_who_never_made_such_a_piece_says_nothing_of_it(dof: int | None) -> None:
    """14 mm outside, seven times the uncertainty: by the maker's spread it would be in tolerance."""
    maker, sure = MakerSpread(0.0, 0.8 * MM), Combined(2.0 * MM, dof)
    assert not maker.explains(20 * MM, u_nm=sure.u_nm)
    weighed = risk.risk_of_verdict(Verdict.OUT, 20 * MM, SIX, sure=sure, maker=maker)
    alone = risk.risk_of_verdict(Verdict.OUT, 20 * MM, SIX, sure=sure)
    assert weighed.in_tolerance > 0.99
    assert alone.in_tolerance < 0.01
    assert maker.explains(6 * MM, u_nm=sure.u_nm)
