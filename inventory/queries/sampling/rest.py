"""What the sample says of the rest of the batch: limits on the bad pieces, and the agreed quality.

Two questions, each answered with the reading error against whoever asks. What can be proved against the
maker: only what is out beyond doubt counts, for all pieces of the sample together. What may be on the shelf:
all that is not in tolerance beyond doubt counts, and the shelf rule may have passed bad pieces as often as it
allows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from inventory.calc.sampling.remaining import (
    BadLimits,
    Chance,
    Sample,
    Sides,
    chance_within,
    limits_of_bad,
    most_allowed,
    say_chance,
    say_left,
    say_limits,
)
from inventory.queries.sampling.beyond_doubt import READING_DOUBT, BeyondDoubt, beyond_doubt

if TYPE_CHECKING:
    from inventory.queries.sampling.standing import SampleStanding

CONFIDENCE = 0.95
SPREAD_DRAW = (
    "The sample was spread over cartons, sizes and colours, so pieces of small ones had a greater chance: "
    "the limits take the bad pieces for the likeliest drawn (or the least likely, for “at most”), which is "
    "cautious."
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
    size = len(standing.pieces)
    shown = beyond_doubt(seen)
    chances = _chances(standing, len(seen))
    claim = Sample(size, len(seen), shown.out, chances=chances)
    shelf = Sample(size, len(seen), shown.not_in, shown.shelf_rates, chances)
    of_draw = limits_of_bad(claim, confidence=CONFIDENCE + READING_DOUBT, sides=Sides.AT_LEAST)
    claim_limits = replace(of_draw, confidence=CONFIDENCE)  # the rest of the doubt is the readings'
    left_limits = limits_of_bad(shelf, confidence=CONFIDENCE, sides=Sides.AT_MOST)
    agreed = standing.plan.agreed
    kept = careful = None
    if agreed is not None:
        most = most_allowed(size, Decimal(agreed) / 100)
        kept = chance_within(claim, most_bad=most)
        # To count a toss of the coin as bad makes a limit careful, and a chance simply wrong.
        careful = None if shown.undecided else chance_within(shelf, most_bad=most)
    return SaidOfRest(
        claim=say_limits(claim_limits, beyond_doubt=True),
        left=f"{say_left(left_limits)} {_counted(shown, len(seen))}",
        kept_words="" if kept is None else _say_kept(kept, agreed),
        careful_words="" if careful is None else say_chance(careful),
        assumptions=(*shown.words, *_assumptions(standing)),
        claim_limits=claim_limits,
        left_limits=left_limits,
        kept=kept,
        careful=careful,
    )


def rest_of(standing: SampleStanding) -> dict[str, Any] | None:  # Any: JSON
    """What was recorded with the decision; before it, what the sample says so far."""
    if standing.decided is not None:
        recorded: dict[str, Any] | None = standing.decided.document["rest"]  # Any: JSON
        return recorded
    said = said_of_rest(standing)
    return None if said is None else as_document(said)


def as_document(said: SaidOfRest) -> dict[str, Any]:  # Any: JSON
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


def _counted(shown: BeyondDoubt, seen: int) -> str:
    """What the sentence for the shelf counts as out, so that nobody takes it for what was called out."""
    words = (
        f"Counted as out, to be careful: {shown.not_in} of the {seen} measured, whatever is not in tolerance "
        "beyond doubt"
    )
    if shown.undecided:
        words += f"; {shown.undecided} of them too close to call, or in by their mean alone after all repeats"
    return f"{words}."


def _say_kept(kept: Chance, agreed: Decimal | None) -> str:
    return (
        f"Agreed: at most {agreed} % bad, {kept.most_bad} of {kept.sample.batch_size}. {say_chance(kept)} "
        "Only what is out beyond doubt is counted in that."
    )


def _chances(standing: SampleStanding, inspected: int) -> tuple[float, float] | None:
    """The chances of a spread draw; of one that is not measured to its end the lowest is lower still."""
    stored = standing.sampling.document.get("chances")
    if stored is None:
        return None
    low, high = stored
    return low * inspected / max(len(standing.drawn), 1), high


def _assumptions(standing: SampleStanding) -> tuple[str, ...]:
    found = []
    if standing.sampling.document.get("draw") == "spread":
        found.append(SPREAD_DRAW)
    if standing.plan.most > standing.plan.first:
        found.append(DOUBLE)
    if standing.stopped_early:
        found.append(STOPPED_CAREFUL)
    return tuple(found)
