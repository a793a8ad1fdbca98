"""All that can be told of one batch: the causes ranked, each with its account, and the next reading."""

from dataclasses import dataclass
from typing import Final

from inventory.calc.causes.batch import Batch
from inventory.calc.causes.evidence import PATTERNS, Evidence, look_for, weigh
from inventory.calc.causes.explaining import Account, Effect, Mean, account
from inventory.calc.causes.layout import Layout, lay_out
from inventory.calc.causes.ranking import Answer, rank
from inventory.calc.causes.settling import Contender, Next, Settling, settle
from inventory.calc.causes.words import WORDS, Cause, Words

TOLD: Final = 0.01
"""A cause less likely than this is not worth a line."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause in the ranking.

    ``effects``: how large, one for each place it sits. ``explained``: share of the deviations' squares that
    goes away with it (None for a cause of spread). ``means``: what it expects of each point and witness,
    beside what was seen; ``against`` those that do not fit.
    """

    cause: Cause
    probability: float
    effects: tuple[Effect, ...]
    explained: float | None
    means: tuple[Mean, ...]

    @property
    def words(self) -> Words:
        return WORDS[self.cause]

    @property
    def direction(self) -> str:
        """What the sign of the (first) effect means, in words; empty where it means nothing more."""
        return self.words.plus if self.effects[0].value > 0 else self.words.minus

    @property
    def against(self) -> tuple[Mean, ...]:
        return tuple(mean for mean in self.means if mean.speaks_against)


@dataclass(frozen=True, slots=True)
class CauseRanking:
    """The answer for a batch: what may be said, the suspects from the likeliest down, and what to do next.

    ``nothing`` is the probability of nothing in particular. ``settling`` tells the two likeliest apart
    ("nothing" may be one), None if no reading would. ``not_looked_for``: causes for which something was not
    known; its words say what each needs.
    """

    answer: Answer
    nothing: float
    suspects: tuple[Suspect, ...]
    settling: Settling | None
    not_looked_for: tuple[Cause, ...]


def rank_causes(batch: Batch) -> CauseRanking:
    """The causes of a batch by probability; about a fifth of a second for 3,200 readings.

    >>> from inventory.calc.causes.batch import Piece, Point, PointKind, Reading
    >>> mm = 1_000_000
    >>> points = [Point(code, PointKind.HALF, mm, mm, at_waist=code == "WA") for code in ("UB", "WA", "HH")]
    >>> pieces = [Piece(f"{k}", size=k % 3) for k in range(12)]
    >>> readings = [
    ...     Reading(piece.name, point.code, side, "ann", "blue", 350 * mm, (9 * point.at_waist + k % 3) * mm)
    ...     for k, piece in enumerate(pieces) for point in points for side in "LR"
    ... ]
    >>> told = rank_causes(Batch(tuple(points), tuple(pieces), tuple(readings)))
    >>> told.suspects[0].words.name
    'waist tape set short or long'
    """
    layout = lay_out(batch)
    looked = look_for(layout)
    evidence = weigh(looked, layout.deviation[:, None])
    ranked = rank(evidence)
    order = [evidence.causes[place] for place in ranked.order[:, 0]]
    chance = {cause: float(ranked.probability[k, 0]) for k, cause in enumerate(evidence.causes)}
    accounts = {
        cause: account(looked, cause, evidence.seen[cause])
        for place, cause in enumerate(order)
        if cause is not Cause.NOTHING and (chance[cause] >= TOLD or place < _CONTENDERS)
    }
    return CauseRanking(
        answer=ranked.answers[0],
        nothing=chance[Cause.NOTHING],
        suspects=tuple(
            Suspect(cause, chance[cause], told.effects, told.explained, told.means)
            for cause, told in accounts.items()
        ),
        settling=_settling(layout, order, chance, accounts),
        not_looked_for=_not_looked_for(evidence),
    )


_CONTENDERS: Final = 2


def _settling(
    layout: Layout, order: list[Cause], chance: dict[Cause, float], accounts: dict[Cause, Account]
) -> Settling | None:
    if len(order) < _CONTENDERS:
        return None
    one, other = (
        Contender(cause, chance[cause], accounts[cause].typical_mm, accounts[cause].typical_u_mm)
        if cause in accounts
        else Contender(cause, chance[cause], 0.0, 0.0)
        for cause in order[:_CONTENDERS]
    )
    points = layout.batch.points
    lengths = layout.at_points([not point.is_girth and point.lies_in is not None for point in points])
    return settle(one, other, without=frozenset({Next.LENGTHS} if lengths.any() else ()))


def _not_looked_for(evidence: Evidence) -> tuple[Cause, ...]:
    return tuple(cause for cause in (*PATTERNS, Cause.STACK) if cause not in evidence.seen)
