"""What the sample says of the rest of the batch: limits on the bad pieces, and the agreed quality.

Two questions, each answered with the reading error against whoever asks. What can be proved against the
maker: only what the claim rule calls out counts, and it may have called good pieces out as often as it
allows. What may be on the shelf: all that is not in tolerance beyond doubt counts, and the shelf rule may
have passed bad pieces as often as it allows.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from inventory.calc.sampling.remaining import (
    BadLimits,
    Chance,
    ReadingRates,
    Sample,
    Sides,
    chance_within,
    limits_of_bad,
    most_allowed,
    say_chance,
    say_left,
    say_limits,
)
from inventory.models import Shop

if TYPE_CHECKING:
    from inventory.queries.sampling.found import FoundPiece
    from inventory.queries.sampling.standing import SampleStanding

CONFIDENCE = 0.95
PER_POINT = (
    "The chances of a wrong call are those the rule allows at a limit, taken per piece for the one point "
    "that decides; a piece with several points just at their limits could be called wrongly more often."
)
SPREAD_DRAW = (
    "The sample was spread over cartons, sizes and colours; the limits are exact for a draw with the same "
    "chance for every piece, and a good approximation here."
)
DOUBLE = "Of a double plan the limits are an approximation: whether the second sample was drawn depends."
STOPPED_CAREFUL = "The sample stopped early, because of what it found: “at least” holds all the same."


@dataclass(frozen=True, slots=True)
class SaidOfRest:
    """The sentences, the limits behind them, and what they rest on.

    `claim` is the sentence that goes into a claim. `kept` (chance that the agreed quality is met) is None
    where no quality was agreed on.
    """

    claim: str
    left: str
    kept_words: str
    careful_words: str
    assumptions: tuple[str, ...]
    claim_limits: BadLimits
    left_limits: BadLimits
    kept: Chance | None
    careful: Chance | None


def said_of_rest(standing: SampleStanding) -> SaidOfRest | None:
    """What the sample says so far; None before the first piece is judged, or when every piece is measured."""
    seen = standing.inspected
    if not seen or standing.plan.every_piece:
        return None
    shop = Shop.objects.current()
    size = len(standing.pieces)
    claim_risk = shop.claim_rule.as_rule().risk_at_the_limit
    shelf_risk = shop.shelf_rule.as_rule().risk_at_the_limit
    claim = Sample(size, len(seen), _count(seen, claimed=True), ReadingRates(false_bad=claim_risk))
    shelf = Sample(size, len(seen), _count(seen, claimed=False), ReadingRates(false_good=shelf_risk))
    claim_limits = limits_of_bad(claim, confidence=CONFIDENCE, sides=Sides.AT_LEAST)
    left_limits = limits_of_bad(shelf, confidence=CONFIDENCE, sides=Sides.AT_MOST)
    agreed = standing.plan.agreed
    kept = careful = None
    if agreed is not None:
        most = most_allowed(size, Decimal(agreed) / 100)
        kept, careful = chance_within(claim, most_bad=most), chance_within(shelf, most_bad=most)
    return SaidOfRest(
        claim=say_limits(claim_limits, beyond_doubt=True),
        left=say_left(left_limits),
        kept_words="" if kept is None else _say_kept(kept, agreed),
        careful_words="" if careful is None else say_chance(careful),
        assumptions=_assumptions(standing),
        claim_limits=claim_limits,
        left_limits=left_limits,
        kept=kept,
        careful=careful,
    )


def as_document(said: SaidOfRest) -> dict[str, object]:
    """The same as JSON values, for the record of a decision and for other programs."""
    claim, left = said.claim_limits, said.left_limits
    return {
        "claim": said.claim,
        "left": said.left,
        "agreed_quality": said.kept_words,
        "agreed_quality_careful": said.careful_words,
        "assumptions": list(said.assumptions),
        "confidence": CONFIDENCE,
        "batch_size": claim.sample.batch_size,
        "inspected": claim.sample.inspected,
        "out_beyond_doubt": claim.sample.bad,
        "not_in_beyond_doubt": left.sample.bad,
        "at_least_out": claim.in_batch.least,
        "at_most_out_among_left": left.among_left.most,
        "chance_of_agreed_quality": None if said.kept is None else round(said.kept.chance, 6),
        "chance_of_agreed_quality_careful": None if said.careful is None else round(said.careful.chance, 6),
    }


def _say_kept(kept: Chance, agreed: Decimal | None) -> str:
    return f"Agreed: at most {agreed} % bad, {kept.most_bad} of {kept.sample.batch_size}. {say_chance(kept)}"


def _count(seen: list[FoundPiece], *, claimed: bool) -> int:
    if claimed:
        return sum(piece.claim == "out" for piece in seen)
    return sum(piece.shelf != "in" for piece in seen)


def _assumptions(standing: SampleStanding) -> tuple[str, ...]:
    found = [PER_POINT]
    if standing.sampling.document.get("draw") == "spread":
        found.append(SPREAD_DRAW)
    if standing.plan.most > standing.plan.first:
        found.append(DOUBLE)
    if standing.stopped_early:
        found.append(STOPPED_CAREFUL)
    return tuple(found)
