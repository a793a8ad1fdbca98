"""What one cause says of a batch: how large, where, how much of it all, and what speaks against it."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from inventory.calc.causes.background import Background
from inventory.calc.causes.evidence import Looked, Seen
from inventory.calc.causes.layout import NM_PER_MM, Flags, Floats, Layout
from inventory.calc.causes.variants import Where
from inventory.calc.causes.words import WORDS, Cause, EffectUnit

SPEAKS_AGAINST: Final = 3.0
"""Standard deviations between what a cause expects of a mean and what was seen, to count against it."""

_AS_IT_IS: Final = (EffectUnit.SHARE, EffectUnit.STEPS, EffectUnit.TIMES_WIDER)


@dataclass(frozen=True, slots=True)
class Effect:
    """How large a cause is at one place, with its standard uncertainty, in the unit given (lengths in nm)."""

    where: Where
    value: float
    u: float
    unit: EffectUnit


@dataclass(frozen=True, slots=True)
class Mean:
    """The mean deviation (nm) of one point, or of one witness: as seen, as the cause expects, ordinary SD."""

    name: str
    seen_nm: int
    expected_nm: int
    u_nm: float
    elsewhere: bool

    @property
    def speaks_against(self) -> bool:
        """Whether it lies further from what the cause expects than ordinary spread would bring it."""
        return abs(self.seen_nm - self.expected_nm) > SPEAKS_AGAINST * self.u_nm


@dataclass(frozen=True, slots=True)
class Account:
    """A cause in one batch: effects, share of the deviations' squares explained, means, typical size (mm).

    ``explained`` is None for a cause of spread, which moves no mean.
    """

    effects: tuple[Effect, ...]
    explained: float | None
    means: tuple[Mean, ...]
    typical_mm: float
    typical_u_mm: float


def account(looked: Looked, cause: Cause, seen: Seen) -> Account:
    """The account of one cause at its likeliest spread and place, for a single batch."""
    layout = looked.layout
    if cause is Cause.STACK:
        return _of_spread(layout)
    at = int(seen.log_likelihood[:, 0].argmax())
    variants, behind = looked.variants[cause], looked.behind[at]
    chosen = seen.chosen[seen.chosen[:, 0] >= 0, 0]
    columns = variants.columns(chosen, rows=layout.rows)
    solved = behind.solved(columns)
    precision = np.eye(len(chosen)) / variants.prior.sd**2
    covariance = np.linalg.inv(columns.T @ solved + precision)
    effect = covariance @ (
        solved.T @ layout.deviation + precision @ np.full(len(chosen), variants.prior.mean)
    )
    u = np.sqrt(np.diag(covariance))
    unit = WORDS[cause].unit
    factor = 1.0 if unit in _AS_IT_IS else NM_PER_MM
    places = [variants.where(which) for which in chosen]
    expected = columns @ effect
    touched = layout.inside & (columns != 0).any(axis=1)
    size = np.abs(columns[touched])
    typical = float(np.sqrt(np.mean(expected[touched] ** 2))) if touched.any() else 0.0
    return Account(
        effects=tuple(
            Effect(where, float(b * factor), float(s * factor), unit)
            for where, b, s in zip(places, effect, u, strict=True)
        ),
        explained=_share(layout, expected),
        means=_means(layout, places, expected, behind=behind),
        typical_mm=typical,
        typical_u_mm=float((size.max(axis=1) * u.mean()).mean()) if touched.any() else 0.0,
    )


def _share(layout: Layout, expected: Floats) -> float:
    seen = layout.deviation[layout.inside]
    whole = float((seen**2).sum())
    left = float(((seen - expected[layout.inside]) ** 2).sum())
    return max(0.0, 1 - left / whole) if whole else 0.0


def _means(layout: Layout, places: list[Where], expected: Floats, *, behind: Background) -> tuple[Mean, ...]:
    """The means of every point over the readings a cause is about, and of every witness."""
    about = _about(layout, places)
    groups: list[tuple[str, Flags, bool]] = []
    for at, point in enumerate(layout.batch.points):
        groups.append((point.code, about & (layout.point == at), False))
    first = int(layout.inside.sum())
    for at, witness in enumerate(layout.batch.elsewhere):
        groups.append((witness.name, np.arange(layout.rows) == first + at, True))
    groups = [group for group in groups if group[1].any()]
    averages = np.array([rows / rows.sum() for _, rows, _ in groups]).T
    seen, expects = layout.deviation @ averages, expected @ averages
    u = np.sqrt(behind.variance_of(averages))
    return tuple(
        Mean(name, round(seen[k] * NM_PER_MM), round(expects[k] * NM_PER_MM), float(u[k] * NM_PER_MM), away)
        for k, (name, _, away) in enumerate(groups)
    )


def _about(layout: Layout, places: list[Where]) -> Flags:
    """The readings of the pieces, side, person and tape named; all of the batch where none is named."""
    about = np.zeros(layout.rows, dtype=bool)
    for where in places:
        rows = layout.inside.copy()
        if where.pieces:
            rows &= np.isin(
                layout.piece, [k for k, p in enumerate(layout.batch.pieces) if p.name in where.pieces]
            )
        if where.side:
            rows &= layout.side == "LRS".index(where.side)
        if where.person:
            rows &= layout.person == layout.people.index(where.person)
        if where.tape:
            rows &= layout.tape == layout.tapes.index(where.tape)
        if where.since is not None:
            rows &= layout.order >= where.since
        about |= rows
    return about


def _of_spread(layout: Layout) -> Account:
    """How much wider the second halves of the bundles spread than the first, about the mean of each point."""
    rows = layout.inside
    left = layout.deviation.copy()
    for at in range(len(layout.batch.points)):
        here = layout.point == at
        if here.any():
            left[here] -= left[here].mean()
    late = layout.in_bundle > 0.5
    sd, count = [], []
    for half in (rows & ~late, rows & late):
        sd.append(float(np.sqrt(np.mean(left[half] ** 2))) if half.any() else 0.0)
        count.append(max(int(half.sum()), 1))
    times = sd[1] / sd[0] if sd[0] else 1.0
    u = times * float(np.sqrt(1 / (2 * count[0]) + 1 / (2 * count[1])))
    typical = float(np.sqrt(max(sd[1] ** 2 - sd[0] ** 2, 0.0)))
    return Account((Effect(Where(), times, u, EffectUnit.TIMES_WIDER),), None, (), typical, 0.0)
