"""The closed forms against a second road: the covariance written out, scipy's density, and integration.

The batch is small and untidy on purpose: repeats by two people in one cell, unequal points, three tapes, a
witness, a piece with one side only.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, special
from scipy.stats import multivariate_normal, norm

from inventory.calc.causes import Batch, Cause, Elsewhere, Piece, Point, PointKind, Reading, Witness
from inventory.calc.causes.background import (
    COMMON_TO_POINTS,
    PIECE_SHARE,
    POINT_SHARE,
    SPREADS,
    background,
)
from inventory.calc.causes.batch import Side
from inventory.calc.causes.evidence import GROWTHS, look_for, weigh
from inventory.calc.causes.layout import Floats, Layout, lay_out
from inventory.calc.causes.ranking import rank
from inventory.calc.causes.variants import Prior, Variants, log_factor
from tests.closeness import same_float

MM = 1_000_000
HALF, LENGTH = PointKind.HALF, PointKind.LENGTH

POINTS = (
    Point("TE", HALF, 2 * MM, 3 * MM, 2 * MM, height_sensitivity=0.5, level=1, bound_edge="top", seams=5),
    Point("WA", HALF, 1 * MM, 1 * MM, 1 * MM, level=2, at_waist=True, seams=6),
    Point("CF", LENGTH, 1 * MM, 2 * MM, 3 * MM),
)


def untidy(seed: int = 1) -> Batch:
    rng = np.random.default_rng(seed)
    pieces = tuple(Piece(f"{k}", size=k % 3, size_label=f"S{k % 3}", in_bundle=k // 3) for k in range(6))

    def reading(piece: Piece, point: Point, side: Side, *, person: str, tape: str, order: int) -> Reading:
        nominal = (300 + 20 * piece.size + 40 * POINTS.index(point)) * MM
        return Reading(
            piece=piece.name,
            code=point.code,
            side=side,
            person=person,
            tape=tape,
            nominal_nm=nominal,
            deviation_nm=round(rng.normal(0, 3) * MM),
            order=order,
            smaller_nm=nominal - 20 * MM if piece.size else None,
            larger_nm=nominal + 20 * MM if piece.size < 2 else None,
            former_nm=nominal + 4 * MM,
        )

    def all_readings() -> Iterator[Reading]:
        order = 0
        for k, piece in enumerate(pieces):
            for point in POINTS:
                for side in ("L",) if k == 5 else ("L", "R"):
                    people = (
                        ("ann", "bea") if (k + POINTS.index(point)) % 3 == 0 else (("ann", "bea")[k % 2],)
                    )
                    for person in people:
                        yield reading(
                            piece,
                            point,
                            "L" if side == "L" else "R",
                            person=person,
                            tape=f"t{k % 3}",
                            order=order,
                        )
                        order += 1

    check = Elsewhere(Witness.CHECK_GARMENT, "check", 330 * MM, 1 * MM, 0.8 * MM, is_girth=True, tape="t1")
    return Batch(POINTS, pieces, tuple(all_readings()), (check,))


def written_out(layout: Layout, *, spread: float, growth: float = 0.0) -> Floats:
    """The covariance entry by entry, from what two readings share."""
    batch, n = layout.batch, layout.rows
    covariance = np.zeros((n, n))
    for i in range(n):
        for j in range(n):
            shared = layout.repeat[i] ** 2 if i == j else 0.0
            if layout.inside[i] and layout.inside[j]:
                p, q = batch.points[layout.point[i]], batch.points[layout.point[j]]
                hands_i, hands_j = spread * p.spread_nm / MM, spread * q.spread_nm / MM
                same_piece, same_point = layout.piece[i] == layout.piece[j], p is q
                if same_piece and same_point and layout.side[i] == layout.side[j]:
                    shared += (hands_i * (1 + growth * layout.in_bundle[i])) ** 2
                if same_piece and p.is_girth and q.is_girth:
                    shared += PIECE_SHARE**2 * hands_i * hands_j
                if same_point:
                    shared += POINT_SHARE**2 * hands_i * hands_j
                if layout.person[i] == layout.person[j]:
                    between = p.person_nm / MM * q.person_nm / MM
                    shared += COMMON_TO_POINTS * between + (1 - COMMON_TO_POINTS) * between * same_point
            covariance[i, j] = shared
    return covariance


def one_column(variants: Variants, which: int, rows: int) -> Floats:
    return variants.columns(np.array([which]), rows=rows)[:, 0]


@pytest.mark.parametrize("spread", SPREADS)
@pytest.mark.parametrize("growth", [0.0, 3.0])
def test_the_density_with_nothing_the_matter_is_that_of_the_covariance_written_out(
    spread: float, growth: float
) -> None:
    layout = lay_out(untidy())
    behind = background(layout, spread=spread, growth=growth)
    y = layout.deviation[:, None]

    density = behind.log_density(y, behind.solved(y))[0]

    oracle = multivariate_normal(cov=written_out(layout, spread=spread, growth=growth)).logpdf(
        layout.deviation
    )
    assert density == pytest.approx(oracle, rel=1e-10)


def test_the_variance_of_a_mean_is_that_of_the_covariance_written_out() -> None:
    layout = lay_out(untidy())
    averages = np.random.default_rng(3).normal(size=(layout.rows, 4))

    variance = background(layout, spread=1.25).variance_of(averages)

    covariance = written_out(layout, spread=1.25)
    assert variance == pytest.approx(np.diag(averages.T @ covariance @ averages), rel=1e-12)


def test_one_person_alone_is_part_of_what_the_point_does() -> None:
    batch = untidy()
    batch = replace(batch, readings=tuple(replace(r, person="ann") for r in batch.readings))
    layout = lay_out(batch)
    behind = background(layout, spread=1.0)
    y = layout.deviation[:, None]

    density = behind.log_density(y, behind.solved(y))[0]

    oracle = multivariate_normal(cov=written_out(layout, spread=1.0)).logpdf(layout.deviation)
    assert density == pytest.approx(oracle, rel=1e-10)


def test_every_variant_of_every_cause_weighs_as_the_density_of_its_own_covariance() -> None:
    layout = lay_out(untidy())
    looked = look_for(layout)
    behind, covariance = looked.behind[1], written_out(layout, spread=SPREADS[1])
    nothing = multivariate_normal(cov=covariance).logpdf(layout.deviation)
    solved = behind.solved(layout.deviation[:, None])
    assert len(looked.variants) == 15, "the untidy batch lets every cause be looked for"

    for cause, variants in looked.variants.items():
        factors = log_factor(variants.own(behind), variants.project(solved)[:, 0], variants.prior)
        for which in range(len(variants)):
            x, prior = one_column(variants, which, layout.rows), variants.prior
            with_cause = multivariate_normal(
                mean=prior.mean * x, cov=covariance + prior.sd**2 * np.outer(x, x)
            ).logpdf(layout.deviation)
            assert factors[which] == pytest.approx(with_cause - nothing, abs=1e-8), (cause, which)


def test_a_variant_weighs_as_the_integral_over_its_effect() -> None:
    """Brute force: the density given the effect, times how usual the effect is, over all effects."""
    layout = lay_out(untidy())
    looked = look_for(layout)
    density = multivariate_normal(cov=written_out(layout, spread=SPREADS[2]))
    nothing = density.logpdf(layout.deviation)
    behind = looked.behind[2]
    for cause in (Cause.TECHNIQUE, Cause.BINDING, Cause.OLD_SPEC):
        variants = looked.variants[cause]
        prior, x = variants.prior, one_column(variants, 0, layout.rows)

        def weight(effect: float, x: Floats = x, prior: Prior = prior) -> float:
            given = density.logpdf(layout.deviation - effect * x) - nothing
            return float(np.exp(given) * norm(prior.mean, prior.sd).pdf(effect))

        reach = 12 * prior.sd
        brute, _ = integrate.quad(
            weight, prior.mean - reach, prior.mean + reach, limit=400, epsabs=0, epsrel=1e-9
        )
        b = variants.project(behind.solved(layout.deviation[:, None]))[:, 0]
        assert log_factor(variants.own(behind), b, prior)[0] == pytest.approx(np.log(brute), abs=1e-6), cause


def test_sets_of_pieces_weigh_as_the_density_of_their_joint_covariance() -> None:
    """All pairs and triples by scipy; the search tries the best only and may claim no more than they all."""
    layout = lay_out(untidy())
    deviation = layout.deviation.copy()
    for piece in (1, 4):
        deviation[(layout.piece == piece) & (layout.point == 1)] += 14
    looked = look_for(layout)
    evidence = weigh(looked, deviation[:, None])
    seen, variants = evidence.seen[Cause.WORN], looked.variants[Cause.WORN]
    assert {variants.where(k).pieces[0] for k in seen.chosen[:, 0] if k >= 0} == {"1", "4"}

    for at, spread in enumerate(SPREADS):
        covariance = written_out(layout, spread=spread)
        nothing = multivariate_normal(cov=covariance).logpdf(deviation)
        by_size: list[list[float]] = []
        for size in (1, 2, 3):
            by_size.append([])
            for chosen in combinations(range(len(variants)), size):
                x = variants.columns(np.array(chosen), rows=layout.rows)
                prior = variants.prior
                density = multivariate_normal(
                    mean=x.sum(axis=1) * prior.mean, cov=covariance + prior.sd**2 * x @ x.T
                ).logpdf(deviation)
                weight = variants.log_weight[list(chosen)].sum() + special.gammaln(size + 1)
                by_size[-1].append(float(density - nothing + weight + (1 - size) * np.log(2) - np.log(1.75)))
        factor = seen.log_likelihood[at, 0] - nothing
        singles = special.logsumexp(by_size[0])
        best_pair, best_triple = max(by_size[1]), max(by_size[2])
        assert factor <= special.logsumexp([x for sizes in by_size for x in sizes]) + 1e-9
        assert factor >= special.logsumexp([singles, best_pair]) - 1e-9
        assert factor <= special.logsumexp([singles, best_pair, best_triple]) + 1e-9


def test_a_slipped_stack_weighs_as_the_density_with_growing_hands() -> None:
    layout = lay_out(untidy())
    evidence = weigh(look_for(layout), layout.deviation[:, None])
    oracle = [
        special.logsumexp(
            [
                multivariate_normal(cov=written_out(layout, spread=spread, growth=growth)).logpdf(
                    layout.deviation
                )
                for growth in GROWTHS
            ]
        )
        - np.log(len(GROWTHS))
        for spread in SPREADS
    ]
    assert evidence.seen[Cause.STACK].log_likelihood[:, 0] == pytest.approx(oracle, rel=1e-10)


@settings(max_examples=40, deadline=None)
@given(
    x=st.lists(st.floats(-3, 3), min_size=4, max_size=4),
    y=st.lists(st.floats(-8, 8), min_size=4, max_size=4),
    mean=st.floats(-3, 3),
    sd=st.floats(0.1, 5),
)
def test_the_bayes_factor_is_a_ratio_of_two_normal_densities(
    x: list[float], y: list[float], mean: float, sd: float
) -> None:
    a, b = np.array(x), np.array(y)
    factor = log_factor(np.array(a @ a), np.array(a @ b), Prior(mean, sd))
    with_cause = multivariate_normal(mean=mean * a, cov=np.eye(4) + sd**2 * np.outer(a, a)).logpdf(b)
    assert factor == pytest.approx(with_cause - multivariate_normal(cov=np.eye(4)).logpdf(b), abs=1e-8)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000), shuffle=st.randoms(use_true_random=False))
def test_the_order_in_which_readings_are_given_changes_nothing(seed: int, shuffle: Random) -> None:
    batch = untidy(seed)
    mixed = list(batch.readings)
    shuffle.shuffle(mixed)
    first, second = (_probabilities(b) for b in (batch, replace(batch, readings=tuple(mixed))))
    assert first == pytest.approx(second, rel=1e-9)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_probabilities_add_up_to_one(seed: int) -> None:
    assert same_float(sum(_probabilities(untidy(seed)).values()), 1.0)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_a_cause_without_a_side_weighs_the_same_when_all_deviations_change_sign(seed: int) -> None:
    layout = lay_out(untidy(seed))
    looked = look_for(layout)
    plus, minus = (weigh(looked, sign * layout.deviation[:, None]) for sign in (1, -1))
    one_sided = {Cause.BINDING, Cause.WORN, Cause.LABEL, Cause.OLD_SPEC}
    for place, cause in enumerate(plus.causes):
        if cause not in one_sided:
            assert plus.log_likelihood[place, 0] == pytest.approx(minus.log_likelihood[place, 0], rel=1e-9)


def _probabilities(batch: Batch) -> dict[Cause, float]:
    layout = lay_out(batch)
    evidence = weigh(look_for(layout), layout.deviation[:, None])
    return dict(zip(evidence.causes, rank(evidence).probability[:, 0].tolist(), strict=True))
