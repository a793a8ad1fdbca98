"""Kinds of guard band: what each asks for, what contradicts itself, and how it is stored."""

import json
from dataclasses import replace
from decimal import Decimal
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.calc.conformity import (
    DEFAULT_CLAIM,
    DEFAULT_SHELF,
    GUARD_KINDS,
    GuardKind,
    Limits,
    Rule,
    Verdict,
    can_be_judged,
    decide,
    guard_factor,
    guard_nm,
    read_rule,
    rule_document,
)
from inventory.calc.errors import ImpossibleInput
from inventory.calc.judging import Taken, judge_point
from inventory.calc.plan import PointPlan
from inventory.calc.setup_checks import questions_of
from inventory.calc.uncertainty import ReadingError
from tests.calc.plans import MM, half

FIVE = Rule.by_risk("five", 1, "shelf", risk=Decimal("0.05"))
EXPANDED = DEFAULT_CLAIM
TWICE = replace(DEFAULT_CLAIM, kind="multiple")
PLAIN = Rule("plain", 1, "shelf", Decimal(0), kind="plain")
risks = st.decimals("0.0001", "0.4999", places=4)
kinds: st.SearchStrategy[GuardKind] = st.sampled_from(GUARD_KINDS)


@st.composite
def rules(draw: st.DrawFn) -> Rule:
    kind = draw(kinds)
    if kind == "risk":
        return Rule.by_risk("r", 1, "claim", risk=draw(risks), at_the_end="stays_close")
    most = {"plain": "0"}.get(kind, "4")
    multiplier = draw(st.decimals("0.001" if kind == "expanded" else "0", most, places=3))
    return Rule("r", 1, "claim", multiplier, at_the_end="stays_close", kind=kind)


@given(risks)
def test_a_rule_by_risk_is_as_wide_as_the_risk_asks_and_no_thousandth_wider(risk: Decimal) -> None:
    """Second road: the standard library's normal distribution."""
    z = NormalDist().inv_cdf(1 - float(risk))
    multiplier = float(Rule.by_risk("r", 1, "shelf", risk=risk).multiplier)
    assert 0 <= multiplier - z < 0.001 + 1e-9


def test_the_five_percent_rule_is_the_default_of_the_shelf() -> None:
    assert (FIVE.multiplier, FIVE.risk, FIVE.kind) == (
        DEFAULT_SHELF.multiplier,
        DEFAULT_SHELF.risk,
        DEFAULT_SHELF.kind,
    )
    assert guard_nm(2.0 * MM, FIVE) == guard_nm(2.0 * MM, DEFAULT_SHELF)


@given(risks, st.integers(1, 500))
def test_few_degrees_of_freedom_take_students_t(risk: Decimal, dof: int) -> None:
    """Second road: scipy.stats, which the program itself does not use."""
    rule = Rule.by_risk("r", 1, "shelf", risk=risk)
    t = float(stats.t.ppf(1 - float(risk), dof))
    assert -1e-6 * t <= float(guard_factor(rule, dof=dof)) - t < 0.001 + 1e-6 * t


def test_an_expanded_uncertainty_keeps_its_coverage_with_few_degrees_of_freedom() -> None:
    """GUM Table G.2, from memory: t for 95.45 % and 10 degrees of freedom is 2.28."""
    assert round(guard_factor(EXPANDED, dof=10), 2) == Decimal("2.28")
    assert guard_factor(TWICE, dof=10) == guard_factor(EXPANDED) == 2


@given(rules(), st.integers(1, 10_000))
def test_a_guard_band_never_grows_with_better_knowledge(rule: Rule, dof: int) -> None:
    assert guard_factor(rule, dof=dof) >= guard_factor(rule, dof=dof + 1) >= guard_factor(rule)


@given(rules(), st.integers(-10 * MM, 10 * MM), st.floats(0, 5 * MM), st.none() | st.integers(1, 60))
def test_every_kind_is_symmetrical_and_never_surer_for_a_larger_uncertainty(
    rule: Rule, value: int, u_nm: float, dof: int | None
) -> None:
    limits = Limits(-6 * MM, 6 * MM)
    one = decide(value, limits, u_nm=u_nm, rule=rule, dof=dof).verdict
    assert decide(-value, limits, u_nm=u_nm, rule=rule, dof=dof).verdict is one
    wider = decide(value, limits, u_nm=2 * u_nm, rule=rule, dof=dof).verdict
    assert wider in (one, Verdict.CLOSE)


@given(rules())
def test_a_rule_comes_back_from_its_document(rule: Rule) -> None:
    assert read_rule(json.loads(json.dumps(rule_document(rule)))) == rule


def test_a_rule_of_old_is_written_and_read_as_ever() -> None:
    old = {
        "code": "claim-proved",
        "version": 1,
        "purpose": "claim",
        "multiplier": "2",
        "max_repeats": 4,
        "at_the_end": "stays_close",
    }
    assert rule_document(TWICE) == old
    assert read_rule(old) == TWICE


@pytest.mark.parametrize(
    ("kind", "multiplier", "risk", "fault"),
    [
        ("plain", "1", None, "Multiplier of the plain rule is 1"),
        ("expanded", "0", None, "Coverage factor of the rule is 0"),
        ("risk", "1.645", None, "Risk of the rule is not given"),
        ("multiple", "1.645", "0.05", "Risk of the rule is 0.05, for a guard band of kind multiple"),
        ("risk", "1.6", "0.05", "Give 1.645, or state another risk"),
        ("risk", "0", "0.5", "Risk of the rule is 0.5"),
        ("risk", "1", "NaN", "Risk of the rule is NaN"),
        ("wide", "1", None, 'Kind of guard band is "wide"'),
    ],
)
def test_a_kind_that_contradicts_its_figures_is_refused(
    kind: GuardKind, multiplier: str, risk: str | None, fault: str
) -> None:
    stated = None if risk is None else Decimal(risk)
    with pytest.raises(ImpossibleInput, match=fault):
        Rule("x", 1, "shelf", Decimal(multiplier), kind=kind, risk=stated)


def test_no_degree_of_freedom_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="Degrees of freedom is 0"):
        guard_factor(FIVE, dof=0)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (PLAIN, "No guard band: at a limit up to half of the verdicts are wrong."),
        (FIVE, "Guard band 1.645 × uncertainty: at a limit at most 5 % are called wrongly."),
        (EXPANDED, "Guard band U = 2 × uncertainty, which covers 95.4 % of readings."),
        (TWICE, "Guard band 2 × uncertainty."),
    ],
)
def test_a_rule_says_its_guard_band_in_words(rule: Rule, words: str) -> None:
    assert rule.in_words == words


def _known_from(dof: int | None) -> PointPlan:
    return replace(half(paired=False), error=ReadingError(MM, 0, repeat_dof=dof))


def test_a_point_known_from_a_small_study_gets_the_wider_guard_band() -> None:
    few, known = (
        judge_point(_known_from(dof), {"S": Taken(334_300_000)}, shelf=FIVE, claim=EXPANDED)[0]
        for dof in (9, None)
    )
    assert (known.shelf_guard_nm, known.claim_guard_nm) == (1_645_000, 2_000_000)
    assert few.shelf_guard_nm == 1_834_000
    assert few.claim_guard_nm > 2_000_000
    assert (known.shelf, few.shelf) == (Verdict.IN, Verdict.CLOSE)


def test_set_up_looks_at_the_same_guard_band_as_the_bench() -> None:
    question = next(questions_of(_known_from(9)))
    assert question.guard_nm(FIVE, 1, 1) == 1_834_000
    assert can_be_judged(question.limits, 3.2 * MM, FIVE)
    assert not can_be_judged(question.limits, 3.5 * MM, FIVE, dof=9)
