"""The draw: repeatable by anyone from its seed, and as even as chance."""

import hashlib
import random
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.calc.errors import ImpossibleInput
from inventory.calc.sampling.draw import (
    Draw,
    DrawKind,
    DrawPiece,
    chances_of,
    describe,
    digits,
    draw,
    shares,
)

BATCH = [DrawPiece(f"B7-{number:03}") for number in range(1, 81)]
SEEDS = range(4000)
UNLIKELY = 0.001
"""A test of evenness over fixed seeds either holds or not; this bar is one that chance seldom crosses."""


@st.composite
def batches(draw_one: st.DrawFn) -> list[DrawPiece]:
    kinds = st.tuples(st.sampled_from("123"), st.sampled_from("SML"), st.sampled_from(["red", "ivory"]))
    strata = draw_one(st.lists(kinds, min_size=1, max_size=60))
    return [DrawPiece(f"P{place}", *stratum) for place, stratum in enumerate(strata)]


def test_the_digits_are_those_any_tool_gives() -> None:
    """From ``printf '20261125:B7-041' | sha256sum`` of GNU coreutils 9."""
    assert digits(20261125, "B7-041") == "213c843e982a9173055f4467f5fff3d96bec09fd50c3626f462d4e19be07b960"


def test_the_draw_follows_its_description_with_nothing_of_ours() -> None:
    by_hand = sorted(
        (hashlib.sha256(f"77:B7-{n:03}".encode()).hexdigest(), f"B7-{n:03}") for n in range(1, 81)
    )
    assert draw(BATCH, number=13, seed=77).labels == tuple(label for _, label in by_hand[:13])


def test_a_spread_draw_follows_its_description() -> None:
    pieces = [
        DrawPiece(f"P{n:02}", carton="1" if n < 30 else "2", size="S" if n % 3 else "M") for n in range(50)
    ]
    found = draw(pieces, number=10, seed=5, kind=DrawKind.SPREAD).labels
    by_label = {piece.label: piece for piece in pieces}
    # 20 and 10 pieces in carton 1, 13 and 7 in carton 2: shares 4, 2, 2.6, 1.4 of ten.
    assert Counter(by_label[label].stratum for label in found) == {
        ("1", "S", ""): 4,
        ("1", "M", ""): 2,
        ("2", "S", ""): 3,
        ("2", "M", ""): 1,
    }
    assert list(found) == sorted(found, key=lambda label: digits(5, label))
    for label in found:
        beside = [piece.label for piece in pieces if piece.stratum == by_label[label].stratum]
        ahead = [other for other in beside if digits(5, other) < digits(5, label)]
        assert set(ahead) <= set(found)


@given(batches(), st.integers(0, 10**12), st.data(), st.sampled_from(list(DrawKind)))
def test_a_draw_gives_that_many_different_pieces_whatever_order_they_come_in(
    pieces: list[DrawPiece], seed: int, data: st.DataObject, kind: DrawKind
) -> None:
    number = data.draw(st.integers(1, len(pieces)))
    found = draw(pieces, number=number, seed=seed, kind=kind)
    assert len(set(found.labels)) == number
    assert set(found.labels) <= {piece.label for piece in pieces}
    shuffled = list(pieces)
    random.Random(seed).shuffle(shuffled)
    assert draw(shuffled, number=number, seed=seed, kind=kind) == found


@given(batches(), st.integers(0, 1000), st.data())
def test_a_spread_draw_sees_every_stratum_or_no_stratum_twice(
    pieces: list[DrawPiece], seed: int, data: st.DataObject
) -> None:
    number = data.draw(st.integers(1, len(pieces)))
    found = draw(pieces, number=number, seed=seed, kind=DrawKind.SPREAD)
    stratum_of = {piece.label: piece.stratum for piece in pieces}
    seen = Counter(stratum_of[label] for label in found.labels)
    if number >= found.strata:
        assert set(seen) == set(stratum_of.values())
    else:
        assert max(seen.values()) == 1


@given(
    st.dictionaries(st.tuples(st.text("ab"), st.text("cd"), st.just("")), st.integers(1, 60), min_size=1),
    st.data(),
)
def test_shares_are_the_largest_remainders_where_each_share_is_at_least_one(
    sizes: dict[tuple[str, str, str], int], data: st.DataObject
) -> None:
    total = sum(sizes.values())
    number = data.draw(st.integers(len(sizes), total))
    given_to = shares(sizes, number=number, seed=3)
    assert sum(given_to.values()) == number
    assert all(1 <= given_to[stratum] <= sizes[stratum] for stratum in sizes)
    if all(number * size >= total for size in sizes.values()):
        floors = {stratum: number * size // total for stratum, size in sizes.items()}
        remainders = {stratum: number * size % total for stratum, size in sizes.items()}
        extra = [stratum for stratum in sizes if given_to[stratum] == floors[stratum] + 1]
        assert all(given_to[stratum] - floors[stratum] in (0, 1) for stratum in sizes)
        left_out = [remainders[stratum] for stratum in sizes if stratum not in extra]
        assert not extra or not left_out or min(remainders[s] for s in extra) >= max(left_out)


def test_over_many_seeds_every_piece_is_drawn_equally_often() -> None:
    """Chi-square over 4,000 seeds; drawing without replacement shrinks it by (N − n)/(N − 1)."""
    times = Counter(label for seed in SEEDS for label in draw(BATCH, number=13, seed=seed).labels)
    expected = len(SEEDS) * 13 / 80
    statistic = sum((times[piece.label] - expected) ** 2 for piece in BATCH) / expected * 79 / (80 - 13)
    assert UNLIKELY < float(stats.chi2.sf(statistic, 79)) < 1 - UNLIKELY


def test_over_many_seeds_the_first_inspected_is_any_piece() -> None:
    times = Counter(draw(BATCH, number=1, seed=seed).labels[0] for seed in SEEDS)
    counts = np.array([times[piece.label] for piece in BATCH])
    assert UNLIKELY < float(stats.chisquare(counts).pvalue) < 1 - UNLIKELY


def test_neighbouring_seeds_draw_independently() -> None:
    """How many pieces two draws share is hypergeometric: 13 of 80 twice share 2.11 on average."""
    draws = [set(draw(BATCH, number=13, seed=seed).labels) for seed in SEEDS]
    shared = np.array([len(one & other) for one, other in zip(draws[::2], draws[1::2], strict=True)])
    expected = stats.hypergeom(80, 13, 13)
    assert abs(shared.mean() - expected.mean()) < 4 * expected.std() / shared.size**0.5


def test_equal_strata_take_turns_at_the_odd_piece() -> None:
    """Two pieces over, of four equal strata: no stratum is always the one with more."""
    sizes = {(carton, "", ""): 10 for carton in "1234"}
    extra = Counter(s for seed in range(400) for s, n in shares(sizes, number=6, seed=seed).items() if n == 2)
    assert float(stats.chisquare([extra[stratum] for stratum in sizes]).pvalue) > UNLIKELY


def test_a_sample_smaller_than_the_strata_reaches_small_strata_too() -> None:
    pieces = [DrawPiece(f"P{n}", carton=str(min(n, 3))) for n in range(40)]
    lone = [
        seed for seed in range(400) if "P0" in draw(pieces, number=2, seed=seed, kind=DrawKind.SPREAD).labels
    ]
    # The big carton nearly always comes first, then each of the three others in a third of the draws.
    assert 95 < len(lone) < 175


@pytest.mark.parametrize("kind", list(DrawKind))
def test_the_whole_batch_can_be_drawn(kind: DrawKind) -> None:
    found = draw(BATCH, number=80, seed=0, kind=kind)
    assert set(found.labels) == {piece.label for piece in BATCH}


def test_the_maker_is_told_how_to_repeat_it() -> None:
    spread = Draw(9, DrawKind.SPREAD, 80, 6, ("a",) * 13)
    assert "spread over cartons, sizes and colours" in describe(spread)
    assert "one each" in describe(spread)
    assert "until there are enough" in describe(Draw(9, DrawKind.SPREAD, 80, 60, ("a",) * 13))


@pytest.mark.parametrize(
    ("pieces", "number", "seed", "thing"),
    [
        (BATCH, 81, 1, "number of pieces to draw"),
        (BATCH, 0, 1, "number of pieces to draw"),
        ([], 1, 1, "number of pieces to draw"),
        (BATCH, 3, -1, "seed"),
        ([*BATCH, BATCH[0]], 3, 1, "label of a piece"),
        ([DrawPiece("")], 1, 1, "label of a piece"),
    ],
)
def test_an_impossible_draw_is_refused(pieces: list[DrawPiece], number: int, seed: int, thing: str) -> None:
    with pytest.raises(ImpossibleInput) as refused:
        draw(pieces, number=number, seed=seed)
    assert refused.value.thing == thing


def test_shares_for_fewer_pieces_than_strata_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="for 2 strata"):
        shares({("1", "", ""): 3, ("2", "", ""): 3}, number=1, seed=1)


def test_the_chances_of_a_piece_are_those_of_its_stratum() -> None:
    """By drawing with 3,000 seeds: how often each piece comes."""
    batch = [DrawPiece(f"P{number:02}", size="S" if number < 2 else "M") for number in range(14)]
    low, high = chances_of(batch, draw(batch, number=4, seed=1, kind=DrawKind.SPREAD))
    assert (low, high) == (3 / 12, 1 / 2)
    drawn = Counter(
        label
        for seed in range(3000)
        for label in draw(batch, number=4, seed=seed, kind=DrawKind.SPREAD).labels
    )
    for piece in batch:
        chance = high if piece.size == "S" else low
        # Four standard errors of 3,000 draws.
        assert abs(drawn[piece.label] / 3000 - chance) < 4 * (chance * (1 - chance) / 3000) ** 0.5
    assert chances_of(batch, draw(batch, number=4, seed=1)) == (4 / 14, 4 / 14)
    apart = [DrawPiece("A", size="S"), *(DrawPiece(f"B{n}", size=f"{n % 3}") for n in range(9))]
    assert chances_of(apart, draw(apart, number=3, seed=1, kind=DrawKind.SPREAD)) == (0.0, 1.0)
