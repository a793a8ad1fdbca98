"""How likely the deviations are under each cause, averaged over all the ways it may show.

The likelihood of a cause is the average, over the sizes of the maker's spread and over its variants, of the
density of the deviations; densities are exact Gaussian marginals, so causes with much freedom pay for it by
themselves. A cause that may sit in a few pieces at once also tries sets: the best piece, then the best beside
it, and so on. Each set is weighed exactly; those not tried count for nothing, which only speaks against it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from inventory.calc.causes import making, ours, single_pieces
from inventory.calc.causes.background import SPREADS, Background, background
from inventory.calc.causes.layout import Floats, Ints, Layout
from inventory.calc.causes.variants import Variants, log_factor
from inventory.calc.causes.words import Cause

MOST_AT_ONCE: Final = 3
"""Pieces with the same fault looked for together; each more is half as likely as one fewer."""

GROWTHS: Final = (3.0,)
"""How much wider a slipped stack makes the spread by the end of a bundle, in times of the first."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A cause that moves means: how its variants are made, and how many pieces may have it at once."""

    variants: Callable[[Layout], Variants | None]
    at_once: int = 1


PATTERNS: Final[Mapping[Cause, Pattern]] = {
    Cause.TAPE: Pattern(ours.tape),
    Cause.START: Pattern(ours.start),
    Cause.PERSON: Pattern(ours.person),
    Cause.TECHNIQUE: Pattern(ours.technique),
    Cause.MISREAD: Pattern(ours.misread, at_once=MOST_AT_ONCE),
    Cause.SEAMS: Pattern(making.seams),
    Cause.PATTERN: Pattern(making.pattern),
    Cause.GRADING: Pattern(making.grading),
    Cause.LABEL: Pattern(single_pieces.label, at_once=MOST_AT_ONCE),
    Cause.PANEL: Pattern(single_pieces.panel),
    Cause.CLOTH: Pattern(making.cloth),
    Cause.BINDING: Pattern(making.binding),
    Cause.WAIST_TAPE: Pattern(making.waist_tape),
    Cause.WORN: Pattern(single_pieces.worn, at_once=MOST_AT_ONCE),
    Cause.OLD_SPEC: Pattern(making.old_spec),
}
"""A new cause is a function here and its words in `words`."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One cause and the deviations of m batches: log likelihood (s x m), and its likeliest set of variants.

    ``chosen`` (k x m) holds the places of the variants of the best set at the best spread, -1 where none.
    """

    log_likelihood: Floats
    chosen: Ints


@dataclass(frozen=True, slots=True)
class Evidence:
    """Log likelihood of every cause (c x m), "nothing" first, and what each saw."""

    causes: tuple[Cause, ...]
    log_likelihood: Floats
    seen: Mapping[Cause, Seen]


@dataclass(frozen=True, slots=True)
class Looked:
    """A layout made ready: the background at every spread, and the causes that can be looked for."""

    layout: Layout
    behind: tuple[Background, ...]
    slipped: tuple[tuple[Background, ...], ...]
    variants: Mapping[Cause, Variants]


def look_for(layout: Layout) -> Looked:
    """Everything about a layout that does not depend on the deviations."""
    made = {cause: pattern.variants(layout) for cause, pattern in PATTERNS.items()}
    in_bundle = layout.in_bundle[layout.inside]
    by_bundle = not np.isnan(in_bundle).any() and in_bundle.max() > 0
    return Looked(
        layout=layout,
        behind=tuple(background(layout, spread=spread) for spread in SPREADS),
        slipped=tuple(
            tuple(background(layout, spread=spread, growth=growth) for spread in SPREADS)
            for growth in (GROWTHS if by_bundle else ())
        ),
        variants={cause: variants for cause, variants in made.items() if variants is not None},
    )


def weigh(looked: Looked, deviations: Floats) -> Evidence:
    """The evidence of m batches of one layout, their deviations (mm, n x m) one column each."""
    solved = [behind.solved(deviations) for behind in looked.behind]
    plain = np.array(
        [b.log_density(deviations, s) for b, s in zip(looked.behind, solved, strict=True)], dtype=float
    )
    nobody = np.full((0, deviations.shape[1]), -1, dtype=np.int64)
    seen = {Cause.NOTHING: Seen(plain, nobody)}
    for cause, variants in looked.variants.items():
        found = [
            _at_one_spread(variants, behind, z, at_once=PATTERNS[cause].at_once)
            for behind, z in zip(looked.behind, solved, strict=True)
        ]
        total = plain + np.array([factor for factor, _ in found])
        best = total.argmax(axis=0)
        chosen = np.array([sets for _, sets in found])[best, :, np.arange(len(best))].T
        seen[cause] = Seen(total, chosen)
    if looked.slipped:
        slipped = np.array(
            [[b.log_density(deviations, b.solved(deviations)) for b in row] for row in looked.slipped]
        )
        seen[Cause.STACK] = Seen(
            np.logaddexp.reduce(slipped, axis=0) - np.log(len(slipped)),
            slipped.max(axis=1).argmax(axis=0)[None, :],
        )
    log_likelihood = np.array(
        [np.logaddexp.reduce(of.log_likelihood, axis=0) - np.log(len(SPREADS)) for of in seen.values()]
    )
    return Evidence(tuple(seen), log_likelihood, seen)


class _Search:
    """The variants of one cause before m batches at one spread, as one effect after another is taken in.

    ``g`` (v x m or v x 1) and ``b`` (v x m) are those of every variant once the effects picked so far belong
    to the background.
    """

    def __init__(self, variants: Variants, behind: Background, solved: Floats) -> None:
        self.variants, self.behind = variants, behind
        self.g, self.b = variants.own(behind)[:, None], variants.project(solved)
        self.batches = np.arange(self.b.shape[1])
        self._crossed: list[tuple[Floats, Floats]] = []

    def weighed(self) -> Floats:
        """Log of prior weight times Bayes factor of every variant (v x m)."""
        return log_factor(self.g, self.b, self.variants.prior) + self.variants.log_weight[:, None]

    def take_in(self, last: Ints) -> None:
        """Make the effect of one variant of each batch part of its background (a rank-one change of V)."""
        prior = self.variants.prior
        each, which = np.unique(last, return_inverse=True)
        columns = self.variants.columns(each, rows=len(self.behind.noise))
        with_last = self.variants.project(self.behind.solved(columns))[:, which]
        for earlier, damped in self._crossed:
            with_last = with_last - earlier * damped * earlier[last, self.batches]
        g_last, b_last = with_last[last, self.batches], self.b[last, self.batches]
        damped = prior.sd**2 / (1 + prior.sd**2 * g_last)
        self._crossed.append((with_last, damped))
        self.b = self.b - with_last * (prior.mean + damped * (b_last - prior.mean * g_last))
        self.g = self.g - with_last**2 * damped


def _at_one_spread(
    variants: Variants, behind: Background, solved: Floats, *, at_once: int
) -> tuple[Floats, Ints]:
    """Log Bayes factor over "nothing" of m batches, and the likeliest set of variants (at_once x m)."""
    search = _Search(variants, behind, solved)
    single = search.weighed()
    picks = [single.argmax(axis=0)]
    sets = best = single[picks[0], search.batches]
    parts = [np.logaddexp.reduce(single, axis=0)]
    chosen = np.full((at_once, len(best)), -1)
    chosen[0] = picks[0]
    while len(picks) < min(at_once, len(np.unique(variants.group))):
        search.take_in(picks[-1])
        taken = (variants.group[:, None, None] == variants.group[np.array(picks)][None]).any(axis=1)
        more = np.where(taken, -np.inf, search.weighed())
        picks.append(more.argmax(axis=0))
        # A set may be met in any order: k! times the product of its single weights; half as likely each.
        sets = sets + more[picks[-1], search.batches] + np.log(len(picks)) - np.log(2)
        parts.append(sets)
        chosen[: len(picks)] = np.where(sets > best, np.array(picks), chosen[: len(picks)])
        best = np.maximum(best, sets)
    share = np.log(sum(0.5**k for k in range(len(parts))))
    return np.logaddexp.reduce(np.array(parts), axis=0) - share, chosen
